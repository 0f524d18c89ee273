"""However late the answers come, a reading is the answer to its own question.

The fake meter numbers its answers: READ? number n gives n. A link in small asks, resynchronises after
a failure and connects anew after two, on a line (a serial one) that keeps what is still to come.
"""

from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Meter, Settings, WireError
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.scpi.driver import driver
from tests.drivers.fake_meter import FakeMeter

QUESTIONS = 12


class LateMeter(FakeMeter):
    """Each READ? takes as long as the list says; the last entry is repeated."""

    def __init__(self, delays_s: list[float], form: str) -> None:
        super().__init__(self._next)
        self.asked = 0
        self._delays_s = delays_s
        self._form = form

    def _next(self) -> Chunks:
        self.asked += 1
        delay_s = self._delays_s[min(self.asked, len(self._delays_s)) - 1]
        return [(delay_s, self._form.format(self.asked).encode() + b"\n")]


def connect(wire: FakeWire, clock: FakeClock) -> Meter | None:
    try:
        return driver.connect(wire, Settings(), clock)
    except WireError:
        return None


def ask_as_a_link(
    meter: Meter | None, wire: FakeWire, clock: FakeClock
) -> tuple[Meter | None, list[float | None]]:
    if meter is None:
        return connect(wire, clock), []
    try:
        return meter, [shown.value for shown in meter.poll(0.5)]
    except WireError:
        pass
    try:
        meter.resynchronise()
    except WireError:
        meter = None
    return meter, []


@given(
    delays_s=st.lists(st.floats(0.01, 9.0), min_size=1, max_size=QUESTIONS),
    form=st.sampled_from(["{:+.8E}", "{}", "{:.3f}"]),
)
def test_a_reading_is_the_answer_to_its_own_question(delays_s: list[float], form: str) -> None:
    clock, fake = FakeClock(), LateMeter(delays_s, form)
    wire = FakeWire(clock, fake)
    meter: Meter | None = None
    for _ in range(QUESTIONS):
        meter, values = ask_as_a_link(meter, wire, clock)
        assert values in ([], [float(fake.asked)])


def test_a_meter_that_is_in_time_loses_nothing() -> None:
    clock, fake = FakeClock(), LateMeter([0.3], "{:+.8E}")
    wire = FakeWire(clock, fake)
    meter = connect(wire, clock)
    found = [ask_as_a_link(meter, wire, clock)[1] for _ in range(QUESTIONS)]
    assert found == [[float(n)] for n in range(1, QUESTIONS + 1)]
