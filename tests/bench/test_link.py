"""The link's own decisions, on a clock that moves when told and a driver that does what the test says."""

import logging
import time
from collections.abc import Sequence
from dataclasses import replace

import pytest

from meterlog.bench import Link, LinkState, LinkStatus, Pace
from meterlog.bench.link import IDLE_S
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Garbled, Line, State, Unanswered, Wire, WireLost, WrongMeter
from meterlog.testing import HURRIED, PATIENCE_S, FakeClock, FakeWire, Witness
from tests.bench.fakes import ScriptedDriver, Step
from tests.bench.kit import channel, entry, volts

AT_ONCE = replace(
    HURRIED, backoff_first_s=0.0, backoff_last_s=0.0, other_meter_s=0.0, stale_least_s=2.0, stale_periods=5.0
)
CONNECTING, LIVE, STALE, LOST = LinkState


class Bench:
    """Runs a link through the plan of its driver and stops it."""

    def __init__(self, driver: ScriptedDriver, *, identity: str = "", pace: Pace = AT_ONCE) -> None:
        self.clock = FakeClock()
        self.witness = Witness()
        self.wires: list[FakeWire] = []
        self.driver = driver
        self.link = Link(
            entry(identity=identity),
            [channel()],
            driver,
            self.clock,
            deliver=self.witness.deliver,
            on_state=self.witness.on_state,
            open_wire=self._open,
            pace=pace,
        )
        driver.finished = self.link.ask_to_stop

    def _open(self, address: str, line: object) -> Wire:
        self.wires.append(FakeWire())
        return self.wires[-1]

    def run(self) -> Witness:
        self.link.start()
        self.link._thread.join(PATIENCE_S)
        assert not self.link._thread.is_alive(), self.witness.statuses[-3:]
        return self.witness

    def after(self, seconds: float, step: Sequence[object] = ()) -> Step:
        """A poll that takes so long and gives this."""

        def poll() -> Sequence[object]:
            self.clock.pass_s(seconds)
            return step

        return poll  # type: ignore[return-value]


def test_a_reading_makes_the_link_live_and_carries_its_channel() -> None:
    bench = Bench(ScriptedDriver([[volts(1.5)]]))
    witness = bench.run()
    assert witness.states == [CONNECTING, LIVE]
    assert [(one.value, one.channel) for one in witness.readings] == [(1.5, "panel")]
    assert bench.link.status.identity == bench.driver.meters[0].identity


def test_the_wall_time_is_that_of_the_moment_the_indication_is_dated_by() -> None:
    """Not of its arrival: a question sent 2 s before its answer was read dates it 2 s earlier."""
    driver = ScriptedDriver()
    bench = Bench(driver)
    asked_ns = bench.clock.now_ns
    driver._plan = [[bench.after(2.0, [volts(1.0, asked_ns)])]]
    (reading,) = bench.run().readings
    assert reading.monotonic_ns == asked_ns
    assert reading.time_ns == asked_ns + bench.clock.utc_offset_ns


def test_a_step_of_the_wall_clock_moves_stamps_and_nothing_else() -> None:
    """An hour back in the middle: no stale, no lost."""
    driver = ScriptedDriver()
    bench = Bench(driver)

    def step_back() -> Sequence[object]:
        bench.clock.utc_offset_ns -= 3600 * 10**9
        return [volts(2.0, bench.clock.now_ns)]

    driver._plan = [[[volts(1.0, bench.clock.now_ns)], step_back]]  # type: ignore[list-item]
    witness = bench.run()
    assert witness.states == [CONNECTING, LIVE]
    assert witness.readings[0].time_ns - witness.readings[1].time_ns == 3600 * 10**9


def test_silence_is_called_stale_once_and_ends_with_the_next_reading() -> None:
    """After max(2 s, five periods of 0.4 s)."""
    driver = ScriptedDriver()
    bench = Bench(driver)
    driver._plan = [[[volts()], *[bench.after(0.5)] * 8, [volts()]]]
    witness = bench.run()
    assert witness.states == [CONNECTING, LIVE, STALE, LIVE]
    assert [one.state for one in witness.statuses].count(STALE) == 1
    assert len(witness.readings) == 2


def test_a_pause_below_the_limit_is_not_stale() -> None:
    driver = ScriptedDriver()
    bench = Bench(driver)
    driver._plan = [[[volts()], bench.after(1.9), [volts()], bench.after(1.9)]]
    assert bench.run().states == [CONNECTING, LIVE]


def test_a_slow_meter_is_given_five_of_its_periods() -> None:
    pace = Pace()
    assert pace.stale_after_s(0.1) == 2.0
    assert pace.stale_after_s(7.0) == 35.0


def test_a_long_silence_opens_the_line_anew() -> None:
    driver = ScriptedDriver()
    bench = Bench(driver)
    driver._plan = [[[volts()], bench.after(AT_ONCE.reopen_silent_s + 0.1)], [[volts()]]]
    witness = bench.run()
    assert len(bench.wires) == 2
    assert witness.states[-2:] == [LOST, LIVE]


@pytest.mark.parametrize("trouble", [Unanswered("late"), Garbled("noise")])
def test_one_bad_answer_is_put_in_step_on_the_same_line(trouble: Exception) -> None:
    bench = Bench(ScriptedDriver([[volts()], trouble, [volts()], trouble, [volts()]]))
    witness = bench.run()
    assert bench.driver.meters[0].resynchronised == 2
    assert witness.states == [CONNECTING, LIVE]
    assert (bench.link.status.resyncs, bench.link.status.opened) == (2, 1)


def test_two_bad_answers_in_a_row_open_the_line_anew() -> None:
    bench = Bench(ScriptedDriver([[volts()], Unanswered("late"), Garbled("cut")], [[volts()]]))
    witness = bench.run()
    assert witness.states == [CONNECTING, LIVE, LOST, LIVE]
    assert witness.wait_for_state(LOST).text == "cut"
    assert (bench.driver.meters[0].closed, bench.wires[0].closed) == (1, 1)


@pytest.mark.parametrize(
    ("fault", "says"),
    [
        (WireLost("pulled"), "pulled"),
        (WrongMeter("B answers now"), "B answers now"),
        (ValueError("no such range"), "no such range"),
        (ZeroDivisionError("bug"), "driver plain failed: ZeroDivisionError: bug"),
    ],
)
@pytest.mark.parametrize("when", ["connecting", "polling"])
def test_whatever_a_driver_raises_the_link_says_it_and_tries_again(
    fault: Exception, says: str, when: str
) -> None:
    plan: list[list[Step] | Exception] = [fault if when == "connecting" else [fault], [[volts(2.0)]]]
    bench = Bench(ScriptedDriver(*plan))
    witness = bench.run()
    assert witness.wait_for_state(LOST).text == says
    assert witness.states[-1] is LIVE
    assert [wire.closed for wire in bench.wires] == [1, 1]


def test_a_failed_attempt_repeated_is_said_once(caplog: pytest.LogCaptureFixture) -> None:
    """An unplugged meter must not fill the log."""
    caplog.set_level(logging.INFO)
    bench = Bench(ScriptedDriver(*[WireLost("absent")] * 50, [[volts()]]))
    witness = bench.run()
    assert [one.text for one in witness.statuses].count("absent") == 1
    assert len(caplog.records) == 3  # lost, connecting (identified), live


def test_the_pause_doubles_up_to_its_limit_and_starts_anew_after_a_reading() -> None:
    bench = Bench(ScriptedDriver([]), pace=Pace())
    pauses = [bench.link._backoff.next_s() for _ in range(8)]
    assert pauses == [0.2, 0.4, 0.8, 1.6, 3.2, 6.4, 10.0, 10.0]
    bench.link._take([volts()], 0.4)
    assert bench.link._backoff.next_s() == 0.2


def test_another_meter_after_a_break_is_refused_until_the_first_is_back() -> None:
    driver = ScriptedDriver(
        [[volts(1.0)], WireLost("pulled")], [[volts(9.9)]], [[volts(2.0)]], identities=["A", "B", "A"]
    )
    bench = Bench(driver)
    witness = bench.run()
    assert [one.value for one in witness.readings] == [1.0, 2.0]
    refused = [one.text for one in witness.statuses if "another meter answers" in one.text]
    assert len(refused) == 1
    assert 'another meter answers: "B"; it was "A": plug that one in again' in refused[0]
    assert driver.meters[1].closed == 1


def test_another_meter_that_is_meant_is_read(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.INFO)
    driver = ScriptedDriver(
        [[volts(1.0)], WireLost("pulled")], [[volts(9.9)]], [[volts(2.0)]], identities=["A", "B", "B"]
    )
    bench = Bench(driver)
    take = bench.witness.on_state

    def meant(status: LinkStatus) -> None:
        take(status)
        if status.refused is not None:
            assert status.identity is not None
            assert (status.identity.text, status.refused.text) == ("A", "B")
            bench.link.take_other()

    bench.link._standing._on_state = meant
    witness = bench.run()
    assert [one.value for one in witness.readings] == [1.0, 2.0]
    assert bench.link.status.identity is not None
    assert (bench.link.status.identity.text, bench.link.status.refused) == ("B", None)
    assert sum("another meter answers" in record.message for record in caplog.records) == 1


def test_who_is_meant_hurries_the_link() -> None:
    """It would wait for ten seconds otherwise, since a wrong meter is not likely to go away at once."""
    bench = Bench(
        ScriptedDriver([[volts(1.0)], WireLost("pulled")], [], [[volts(2.0)]], identities=["A", "B", "B"])
    )
    bench.link._pace = replace(AT_ONCE, other_meter_s=PATIENCE_S)
    bench.link.start()
    bench.witness.wait_for(lambda: bench.witness.statuses[-1].refused is not None)
    bench.link.take_other()
    bench.link._thread.join(PATIENCE_S / 2)
    assert [one.value for one in bench.witness.readings] == [1.0, 2.0]


def test_who_is_not_refused_cannot_be_taken_for_another() -> None:
    bench = Bench(ScriptedDriver([[volts(1.0)]], identities=["A"]))
    bench.link.take_other()
    bench.run()
    bench.link.take_other()
    assert bench.link.status.identity is not None
    assert bench.link.status.identity.text == "A"


def test_the_bench_file_says_which_meter_it_means() -> None:
    driver = ScriptedDriver([[volts(9.9)]], [[volts(1.0)]], identities=["EXAMPLE 1", "EXAMPLE 2"])
    bench = Bench(driver, identity="PLE 2")
    witness = bench.run()
    assert [one.value for one in witness.readings] == [1.0]
    assert witness.wait_for_state(LOST).text == (
        'another meter answers: "EXAMPLE 1"; the bench file wants "PLE 2" in it'
    )
    assert driver.settings[0].options == {"identity": "PLE 2"}


def test_a_meter_on_another_function_gives_no_value_and_the_link_says_so() -> None:
    ohms = volts(4700.0, unit=Unit.OHM, coupling=Coupling.NONE, raw=b"4.700 kohm")
    bench = Bench(ScriptedDriver([[volts(1.0)], [ohms], [volts(2.0)]]))
    witness = bench.run()
    wrong = witness.readings[1]
    assert (wrong.state, wrong.value, wrong.raw) == (State.INVALID, None, b"4.700 kohm")
    texts = [one.text for one in witness.statuses if one.state is LIVE]
    assert texts == ["", "shows ohm, channel 'panel' wants V dc", ""]
    assert (bench.link.status.readings, bench.link.status.unfitting) == (3, 1)


def test_a_link_that_was_never_started_can_be_stopped() -> None:
    assert Bench(ScriptedDriver([])).link.stop()


def test_stale_is_said_even_while_a_driver_hangs() -> None:
    """As a VISA library does when the wall clock is set back; `watch` is called by another thread."""
    driver = ScriptedDriver()
    bench = Bench(driver)

    def hang() -> Sequence[object]:
        bench.clock.pass_s(3.0)
        bench.link.watch()
        return ()

    driver._plan = [[[volts()], hang]]  # type: ignore[list-item]
    assert STALE in bench.run().states


def test_a_port_that_has_to_wake_up_is_left_alone_first() -> None:
    bench = Bench(ScriptedDriver([[volts()]]))
    bench.driver.line = Line(quiet_s=0.2)  # type: ignore[misc]
    opened_s: list[float] = []
    bench.link._open_wire = lambda address, line: (opened_s.append(time.monotonic()), FakeWire())[1]
    bench.run()
    assert time.monotonic() - opened_s[0] >= 0.2


@pytest.mark.parametrize(("waits_s", "pauses"), [(0.25, 1), (0.0, 9)])
def test_only_a_driver_that_does_not_wait_by_itself_is_held_up(
    waits_s: float, pauses: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A pause after a wait would wake a thread once more, and date late what comes meanwhile. One there is in
    any case: the last poll of a script gives nothing at once."""
    driver = ScriptedDriver()
    bench = Bench(driver)
    driver._plan = [[[volts()], *[bench.after(waits_s)] * 8]]
    waited_s: list[float] = []
    monkeypatch.setattr(bench.link._stop, "wait", waited_s.append)
    bench.run()
    assert waited_s.count(IDLE_S) == pauses
