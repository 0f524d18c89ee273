"""A lead from the output to the input: what the source plays is what the meter shows. Made up."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Coupling, Settings, Wanted
from meterlog.testing import FakeClock
from meterlog_drivers.audio.driver import driver
from tests.drivers.audio.sounds import FakeDevice, in_blocks, packed
from tests.drivers.audio.test_plan import REFERENCE

BOTH = Settings(coupling=Coupling.AC, second=Wanted("frequency"), options=REFERENCE)


@given(st.floats(40.0, 20_000.0), st.floats(0.001, 12.0))
def test_level_and_frequency_come_back(frequency_hz: float, level_v: float) -> None:
    clock = FakeClock()
    output = FakeDevice(clock)
    source = driver.connect_source(output, Settings(options=REFERENCE), clock)
    source.set(frequency_hz, level_v)
    source.switch_on()
    loop = output.played[-1].data
    samples = (loop * 4)[: 4 * 24_000]
    meter = driver.connect(FakeDevice(clock, packed(in_blocks(samples))), BOTH, clock)
    shown = [one for _ in range(3) for one in meter.poll(0.1)][:2]
    assert [one.value for one in shown] == [
        pytest.approx(level_v, rel=1e-3),
        pytest.approx(frequency_hz, abs=0.2),
    ]
