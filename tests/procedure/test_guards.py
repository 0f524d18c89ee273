"""Guards: what sounds at once, what trips, and how the step goes on. Limits are made up."""

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import (
    ActionKind,
    Engine,
    GuardTripped,
    IllegalAction,
    SessionEnded,
    SessionState,
    Sound,
)
from meterlog.reading import State
from tests.procedure.bench import Bench
from tests.procedure.test_load import problems
from tests.procedure.test_patterns import ADJUST, PLUS_4_DBU

GUARD = """
[[guard]]
name = "Panel drive"
channel = "panel"
never_above = "500 mV"
text = "Turn the drive down."
"""


def trips(bench: Bench) -> list[GuardTripped]:
    return [outcome for outcome in bench.outcomes if isinstance(outcome, GuardTripped)]


def test_one_reading_beyond_sounds_at_once_and_only_a_second_trips() -> None:
    bench = Bench(GUARD + ADJUST)
    bench.run(0.2, panel=0.6)
    view = bench.engine.view()
    assert view.guide.cue.sound is Sound.ALARM
    assert view.alarm is not None
    assert not view.alarm.tripped
    bench.run(0.2, panel=0.3)
    assert bench.engine.view().alarm is None
    assert trips(bench) == []
    bench.run(0.4, panel=0.6)
    (trip,) = trips(bench)
    assert (trip.guard, trip.channel, trip.limit) == ("Panel drive", "panel", 0.5)
    assert trip.value == pytest.approx(0.6, rel=1e-3)


def test_a_tripped_step_takes_nothing_until_the_level_is_back_and_the_pedal_says_so() -> None:
    bench = Bench(GUARD + ADJUST)
    bench.run(0.4, panel=0.6, output=PLUS_4_DBU)
    bench.run(6, panel=0.6, output=PLUS_4_DBU)
    assert not bench.settled
    with pytest.raises(
        IllegalAction, match=r"Panel drive: still beyond 500 mV in the last reading\. Turn the drive down"
    ):
        bench.press()
    bench.run(1, panel=0.4, output=PLUS_4_DBU)
    assert bench.engine.view().alarm is not None, "a trip does not go away by itself"
    bench.press()
    bench.run(4, panel=0.4, output=PLUS_4_DBU)
    assert bench.settled
    assert len(trips(bench)) == 1


def test_an_overload_is_above_every_limit_and_a_held_display_is_nothing() -> None:
    bench = Bench(GUARD + ADJUST)
    bench.run(0.2)
    for _ in range(2):
        bench.now_s += 0.2
        bench.give(_measured(bench, 0.9, flags=frozenset({"hold"})))
    assert bench.engine.view().alarm is None
    for _ in range(2):
        bench.now_s += 0.2
        bench.give(_measured(bench, None))
    assert trips(bench)[0].value is None


def _measured(bench: Bench, value: float | None, **fields: object) -> object:
    from meterlog.procedure import Measured

    return Measured(round(bench.now_s * 1e9), bench.reading("panel", value, **fields))


def test_a_guard_watches_from_its_first_to_its_last_step_only() -> None:
    two = ADJUST + ADJUST.replace('"level"', '"second"')
    ranged = GUARD + 'from_step = "second"\nto_step = "second"\n'
    bench = Bench(ranged + two)
    bench.run(1, panel=0.6)
    assert bench.engine.view().alarm is None
    bench.run_to(1, panel=0.6, output=PLUS_4_DBU)
    bench.run(0.6, panel=0.6)
    assert [trip.step for trip in trips(bench)] == ["second"]


def test_a_guard_watches_while_a_setup_is_awaited_and_while_paused() -> None:
    bench = Bench(GUARD + ADJUST + 'setup = "Connect the load."\n')
    bench.run(0.4, panel=0.6)
    assert len(trips(bench)) == 1
    bench.run(0.4, panel=0.1)
    bench.press()
    bench.act(ActionKind.PAUSE)
    bench.run(0.4, panel=0.6)
    assert len(trips(bench)) == 2


def test_replay_gives_the_same_trips() -> None:
    bench = Bench(GUARD + ADJUST)
    bench.run(1, panel=0.6, output=PLUS_4_DBU)
    again = Engine(bench.engine.procedure)
    assert [outcome for event in bench.events for outcome in again.apply(event)] == bench.outcomes


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('channel = "panel"\nnever', 'channel = "panle"\nnever', "no channel 'panle'"),
        ('never_above = "500 mV"', "", "needs never_above or never_below"),
        ('never_above = "500 mV"', 'never_above = "5 kHz"', "no level of a channel in V"),
        ("text =", 'to_step = "last"\ntext =', "no step 'last'"),
        ("text =", 'never_below = "0.6 V"\ntext =', "must lie under"),
    ],
)
def test_a_guard_that_cannot_work_is_said(old: str, new: str, says: str) -> None:
    found = problems(GUARD.replace(old, new) + ADJUST)
    assert any(says in message for *_, message in found), found


def test_an_inoperable_unit_fails_and_a_session_broken_off_is_not_judged() -> None:
    for kind, verdict in ((ActionKind.INOPERABLE, Verdict.FAIL), (ActionKind.BREAK_OFF, Verdict.NOT_JUDGED)):
        bench = Bench(ADJUST)
        with pytest.raises(IllegalAction, match="say why"):
            bench.act(kind)
        ended = bench.act(kind, "no output at all")
        assert ended[-1] == SessionEnded(verdict=verdict, at_ns=0)
        assert bench.engine.state is SessionState.ENDED


def test_a_unit_that_has_failed_stays_failed_when_its_session_is_broken_off() -> None:
    bench = Bench(ADJUST.replace('"adjust"', '"measure"\nsettle = "0.1 dB"'))
    bench.run_to(1, output=1.0)
    ended = bench.act(ActionKind.BREAK_OFF, "enough seen")
    assert isinstance(ended[-1], SessionEnded)
    assert ended[-1].verdict is Verdict.FAIL


def test_what_is_inside_is_left_alone_if_adjusting_only_when_needed() -> None:
    bench = Bench(ADJUST + "only_if_needed = true\n")
    bench.run_to(2, output=PLUS_4_DBU)
    assert [ended.reason for ended in bench.outcomes if hasattr(ended, "ending")][1] == (
        "inside as found, left alone"
    )
    assert bench.engine.place == 2
    other = Bench(ADJUST + "only_if_needed = true\n")
    other.run_to(1, output=1.0)
    other.run(4, output=1.0)
    assert other.engine.place == 1, "outside it has to be adjusted"
    other.run_to(2, output=PLUS_4_DBU)
    assert other.settled[-1].verdict is Verdict.PASS


def test_a_display_without_a_number_takes_nothing_back() -> None:
    """A meter that hunts for its range between two readings beyond."""
    bench = Bench(GUARD + ADJUST)
    for value, state in ((0.6, State.OK), (None, State.INVALID), (0.6, State.OK)):
        bench.now_s += 0.2
        bench.give(_measured(bench, value, state=state))
    assert len(trips(bench)) == 1
    bench.now_s += 0.2
    bench.give(_measured(bench, None, state=State.INVALID))
    with pytest.raises(IllegalAction, match="in the last reading"):
        bench.press()
