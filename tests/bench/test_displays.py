"""One meter with two displays: a channel for each, and nothing from a display that nobody asked for."""

from collections.abc import Sequence

import pytest

from meterlog.bench import Channel, Link
from meterlog.bench.bench_model import settings_of
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication, Settings, State, Wanted, WireLost
from meterlog.testing import PATIENCE_S, FakeClock, FakeWire, Witness
from tests.bench.fakes import ScriptedDriver, ScriptedMeter, Step
from tests.bench.kit import channel, entry, volts

LEVEL = channel(coupling=Coupling.AC)
TONE = Channel(name="tone", meter=LEVEL.meter, function="frequency", display=2)

SAID = ["-222 Data out of range", "3 readings were overwritten"]


def hertz(value: float, display: int) -> Indication:
    return Indication(
        monotonic_ns=0,
        value=value,
        unit=Unit.HERTZ,
        state=State.OK,
        function="frequency",
        display=display,
    )


def run(*indications: Indication) -> Witness:
    """What a link to a meter with both channels makes of one poll's indications."""
    witness = Witness()
    driver = ScriptedDriver([list(indications)])
    follow(driver, witness)
    return witness


def follow(driver: ScriptedDriver, witness: Witness) -> None:
    link = Link(
        entry(),
        [LEVEL, TONE],
        driver,
        FakeClock(),
        deliver=witness.deliver,
        on_state=witness.on_state,
        open_wire=lambda address, line: FakeWire(),
    )
    driver.finished = link.ask_to_stop
    link.start()
    link._thread.join(PATIENCE_S)
    assert not link._thread.is_alive()


def test_each_display_feeds_its_own_channel() -> None:
    witness = run(volts(0.775, coupling=Coupling.AC), hertz(1000.0, 2))
    assert [(one.channel, one.value) for one in witness.readings] == [(LEVEL.name, 0.775), ("tone", 1000.0)]


def test_what_the_other_display_shows_is_not_taken_for_this_ones() -> None:
    witness = run(hertz(1000.0, 1))
    assert [(one.channel, one.state) for one in witness.readings] == [(LEVEL.name, State.INVALID)]


def test_a_display_that_nobody_asked_for_is_no_reading() -> None:
    assert run(hertz(1000.0, 3)).readings == []


def test_the_driver_is_told_what_the_second_display_should_show() -> None:
    assert settings_of(entry(), [LEVEL, TONE]) == Settings(
        function="voltage", coupling=Coupling.AC, second=Wanted("frequency"), displays=(1, 2)
    )


@pytest.mark.parametrize("plan", [([[volts(1.0)]],), ([WireLost("unplugged")], [])])
def test_what_the_instrument_says_beside_its_readings_is_told_and_counted(
    plan: tuple[Sequence[Step], ...],
) -> None:
    """What it says before its line is lost too."""
    told = list(SAID)

    class Talkative(ScriptedMeter):
        def remarks(self) -> list[str]:
            now, told[:] = list(told), []
            return now

    driver = ScriptedDriver(*plan)
    driver.kind = Talkative
    witness = Witness()
    follow(driver, witness)
    assert [status.remark for status in witness.statuses if status.remark][:2] == SAID
    assert (witness.statuses[-1].remark, witness.statuses[-1].remarks) == (SAID[-1], 2)
