"""A session that a stopped daemon left is taken up where it was, or left as it is with a clear word."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Engine as Database

from meterlog.daemon.errors import DaemonError
from meterlog.daemon.fit import NotAdequate
from meterlog.daemon.sessions import Sessions
from meterlog.daemon.timeline import Timeline
from meterlog.procedure import Acted, ActionKind, SettledValue
from meterlog.records import BenchUsed, Writer, iter_events, load_session, migrate, open_engine, replay
from meterlog.records.schema import settled_values
from tests.daemon.desk import BENCH, NS, PROCEDURE, Desk, StillClock, bench_in

Open = Callable[[], Desk]


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    database = open_engine(tmp_path / "record.sqlite3")
    migrate(database)
    yield database
    database.dispose()


@pytest.fixture
def desk_on(tmp_path: Path, database: Database) -> Iterator[Open]:
    """A new daemon's worth on the same record each time; the one before was killed, not stopped."""
    writers: list[Writer] = []

    def make() -> Desk:
        writers.append(Writer(database, retry_s=0.05))
        desk = Desk(tmp_path, writers[-1])
        desk.sessions = Sessions(database, writers[-1], desk.bench, desk.clock)
        return desk

    yield make
    for writer in writers:
        writer.close()


def interrupted(desk: Desk) -> int:
    """A session with one settled value, in the middle of the setup of the next step."""
    with desk:
        desk.to_level()
        desk.measure(3)
        assert desk.runner.running is not None
        desk.writer.flush()
        return desk.runner.running.id


def resumed(desk: Desk) -> Desk:
    assert desk.sessions is not None
    running = desk.sessions.resume()
    assert running is not None
    desk.runner.take_up(running)
    return desk


def test_it_goes_on_at_its_step_and_its_numbers(desk_on: Open, database: Database) -> None:
    number = interrupted(desk_on())
    second = desk_on()
    second.clock.now_ns = 5 * NS  # the machine was started anew: its monotonic clock is young
    second.clock.wall_ns += 1060 * NS
    with resumed(second):
        assert second.runner.running is not None
        assert second.runner.running.view.step == "level-again"
        second.press()
        second.measure(3)
        second.press()
    record = load_session(database, number)
    assert [value.number for value in record.settled_values] == [1, 2]
    assert record.header.ended is not None
    assert [act.kind for act in record.actions].count(ActionKind.INTERRUPTED) == 1
    report = replay(database, number)
    assert report.differences == ()
    assert report.ended


def test_the_time_line_goes_on_by_the_time_away(desk_on: Open, database: Database) -> None:
    number = interrupted(desk_on())
    away = desk_on()
    away.clock.now_ns += 60 * NS
    with resumed(away):
        away.barrier()
    away.writer.flush()
    times = [event.at_ns for _, event in iter_events(database, number)]
    assert times == sorted(times)
    assert isinstance(list(iter_events(database, number))[-1][1], Acted)
    assert times[-1] == 60 * NS, "the session began when the clock stood 60 s earlier"


@given(last=st.integers(0, 10**18), away=st.integers(-(10**18), 10**18), monotonic=st.integers(0, 10**18))
def test_the_time_line_never_goes_back(last: int, away: int, monotonic: int) -> None:
    """Also if the wall clock was set back meanwhile (no clock chip, a wrong battery)."""
    line = Timeline.carried_on(last_ns=last, last_time_ns=0, time_ns=away, monotonic_ns=monotonic)
    assert line.at_ns(monotonic) >= last + 1_000_000
    assert line.at_ns(monotonic) == last + max(away, 1_000_000)
    assert not line.covers(monotonic - 1)


def test_an_ended_session_is_not_taken_up(desk_on: Open) -> None:
    first = desk_on()
    with first:
        first.begin()
        for _ in range(3):
            first.runner.act(ActionKind.SKIP, "no")
        first.press()
    again = desk_on()
    assert again.sessions is not None
    assert again.sessions.resume() is None


def test_a_value_that_a_crash_kept_from_the_disk_is_stored_after_all(
    desk_on: Open, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The reading that settled it may reach the disk in an earlier batch than the value."""
    first = desk_on()

    class Killed(BaseException):
        pass

    def killed(*_: object) -> None:
        raise Killed

    with first:
        first.to_level()
        monkeypatch.setattr(first.runner.running, "commit", killed)
        monkeypatch.setattr("threading.excepthook", lambda _: None)
        with pytest.raises(Exception, match="stopping"):
            first.measure(3)
    first.writer.flush()
    second = resumed(desk_on())
    number = second.runner.running.id if second.runner.running else 0
    with second:
        second.barrier()
    second.writer.flush()
    record = load_session(database, number)
    assert [type(kept.outcome) for kept in record.outcomes].count(SettledValue) == 1
    assert replay(database, number).differences == ()


def test_other_results_than_those_stored_leave_the_session_as_it_is(
    desk_on: Open, database: Database
) -> None:
    number = interrupted(desk_on())
    with database.begin() as connection:
        connection.execute(settled_values.update().values(value=1.0))
    before = list(iter_events(database, number))
    again = desk_on()
    assert again.sessions is not None
    with pytest.raises(DaemonError, match=f"Session {number} .* meterlog replay {number}"):
        again.sessions.resume()
    again.writer.flush()
    assert list(iter_events(database, number)) == before


def test_a_bench_that_no_longer_fits_is_named(tmp_path: Path, desk_on: Open, database: Database) -> None:
    interrupted(desk_on())
    writer = Writer(database)
    other = bench_in(tmp_path, BENCH.replace('name = "output"', 'name = "panel"'))
    sessions = Sessions(database, writer, other, StillClock())
    try:
        with pytest.raises(DaemonError, match="'output': wanted V ac, the bench has no such channel"):
            sessions.resume()
    finally:
        writer.close()


@pytest.mark.parametrize(
    "error", [ZeroDivisionError("float division by zero"), KeyError("gone"), ValueError()]
)
def test_a_record_that_the_engine_stumbles_over_is_no_obstacle(
    error: Exception, desk_on: Open, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of the program met again at each start would otherwise keep the daemon from ever starting."""
    number = interrupted(desk_on())
    before = list(iter_events(database, number))

    def stumble(*_: object) -> None:
        raise error

    again = desk_on()
    assert again.sessions is not None
    with monkeypatch.context() as patch:
        patch.setattr("meterlog.procedure.Engine.apply", stumble)
        with pytest.raises(DaemonError, match=f"cannot go on: {type(error).__name__}: .*begin a new one"):
            again.sessions.resume()
    assert list(iter_events(database, number)) == before
    with again:
        assert again.begin() == number + 1


def test_a_poisoned_reading_is_no_obstacle(desk_on: Open, database: Database) -> None:
    """SQLite keeps text in a column of numbers, if another program puts it there."""
    number = interrupted(desk_on())
    with database.begin() as connection:
        connection.exec_driver_sql("UPDATE readings SET value = 'poison'")
    again = desk_on()
    assert again.sessions is not None
    with pytest.raises(DaemonError, match=f"Session {number} .* cannot go on: .*begin a new one"):
        again.sessions.resume()


def test_a_session_set_aside_lets_another_run_and_is_gone_on_with_by_its_number(
    desk_on: Open, database: Database
) -> None:
    desk = desk_on()
    with desk:
        desk.to_level()
        desk.measure(3)
        assert desk.runner.act(ActionKind.SET_ASIDE).accepted
        assert desk.runner.running is None
        assert desk.begin() == 2
        for _ in range(3):
            desk.runner.act(ActionKind.SKIP, "no")
        desk.press()
        assert desk.sessions is not None
        sessions = desk.sessions
        assert desk.runner.begin(lambda: sessions.go_on_with(1)) == 1
        assert desk.runner.running is not None
        assert desk.runner.running.view.state == "paused"
        desk.press()  # from the pause
        desk.press()  # the setup of the second level
        desk.measure(3)
        desk.press()
    record = load_session(database, 1)
    assert [value.number for value in record.settled_values] == [1, 2]
    assert record.header.ended is not None
    assert replay(database, 1).differences == ()


def test_the_lag_that_the_bench_states_is_the_same_live_and_in_replay(
    tmp_path: Path, desk_on: Open, database: Database
) -> None:
    slow = BENCH.replace('coupling = "ac"\nshow', 'coupling = "ac"\nlag = "2 s"\nshow')
    desk = desk_on()
    assert desk.sessions is not None
    desk.sessions = replace(desk.sessions, bench=bench_in(tmp_path, slow))
    with desk:
        desk.to_level()
        desk.measure(1.8)
        desk.writer.flush()
        assert load_session(database, 1).settled_values == (), "a dwell of 0.8 s is not longer than the lag"
        desk.measure(3)
    desk.writer.flush()
    assert len(load_session(database, 1).settled_values) == 1
    assert replay(database, 1).differences == ()


def test_a_session_set_aside_is_not_taken_up_by_itself(desk_on: Open) -> None:
    desk = desk_on()
    with desk:
        desk.to_level()
        desk.runner.act(ActionKind.SET_ASIDE)
    again = desk_on()
    assert again.sessions is not None
    assert again.sessions.resume() is None


def test_another_day_s_meter_is_on_record_from_where_it_was_used(
    tmp_path: Path, desk_on: Open, database: Database
) -> None:
    number = interrupted(desk_on())
    first_part = load_session(database, number)
    text = BENCH.replace('name = "Test bench"', 'name = "Other bench"').replace("bench meter", "field meter")
    writer = Writer(database)
    sessions = Sessions(database, writer, bench_in(tmp_path, text), StillClock())
    sessions.go_on_with(number)
    writer.close()
    record = load_session(database, number)
    assert [used.text for used in record.benches] == [BENCH, text]
    assert record.benches[1].since_sequence == 1 + max(
        sequence for sequence, event in iter_events(database, number) if not isinstance(event, Acted)
    )
    assert record.bench_text == BENCH, "levels keep the references of the beginning"
    assert record.settled_values == first_part.settled_values


def test_a_bench_on_which_nothing_happened_leaves_its_place_to_the_next(
    tmp_path: Path, desk_on: Open, database: Database
) -> None:
    """Gone on with there, but killed before the interruption was stored; then at a third bench."""
    number = interrupted(desk_on())
    since = 1 + max(sequence for sequence, _ in iter_events(database, number))
    second, third = (BENCH.replace('name = "Test bench"', f'name = "{name}"') for name in ("B", "C"))
    writer = Writer(database)
    described = {"bench meter": Path("config/meters/handheld-6000.toml").read_text()}
    writer.bench(number, BenchUsed(since_sequence=since, text=second, specifications=described))
    Sessions(database, writer, bench_in(tmp_path, third), StillClock()).go_on_with(number)
    writer.close()
    benches = load_session(database, number).benches
    assert [used.text for used in benches] == [BENCH, third]
    assert benches[1].specifications == {}


WEAK = BENCH.replace('serial_number = "S-001"', 'specification = "handheld-6000"')
"""+-0.1 dB cannot be judged by its 6000 counts and 1 %."""


def begun_tight(desk: Desk) -> int:
    with desk:
        number = desk.begin(PROCEDURE.replace('"0.5 dB"', '"0.1 dB"'))
        desk.writer.flush()
    return number


def sessions_on(desk: Desk, folder: Path, text: str, database: Database) -> Sessions:
    return Sessions(database, desk.writer, bench_in(folder, text), desk.clock)


def test_a_meter_that_is_not_good_enough_needs_a_reason_to_go_on_with(
    tmp_path: Path, desk_on: Open, database: Database
) -> None:
    """As at the beginning. On the bench whose meter somebody has answered for, nobody is asked again."""
    number = begun_tight(desk_on())
    before = list(iter_events(database, number))
    second = sessions_on(desk_on(), tmp_path, WEAK, database)
    with pytest.raises(NotAdequate, match="say why it is gone on with all the same"):
        second.go_on_with(number)
    with pytest.raises(DaemonError, match=f"waits.*meterlog resume {number} --override TEXT"):
        second.resume()
    assert list(iter_events(database, number)) == before
    for text, override in ((WEAK, "no other at hand"), (WEAK, ""), (WEAK + "# tidied up\n", "")):
        desk = desk_on()
        sessions_on(desk, tmp_path, text, database).go_on_with(number, override)
        desk.writer.flush()
    notes = [one.text for one in load_session(database, number).actions if one.kind is ActionKind.NOTE]
    said = [note for note in notes if "is not adequate" in note]
    assert said
    assert len(said) == len(set(said))
    assert all(one.startswith("Gone on with all the same: no other at hand (") for one in said)
    assert replay(database, number).differences == ()


def slow(lag: str) -> str:
    return BENCH.replace('coupling = "ac"\nshow', f'coupling = "ac"\nlag = "{lag}"\nshow')


def settled_after(desk: Desk, number: int, database: Database, seconds: float) -> int:
    """How many values stand after so many seconds of a still level."""
    desk.measure(seconds)
    desk.writer.flush()
    return len(load_session(database, number).settled_values)


@pytest.mark.parametrize("killed", [False, True])
def test_from_another_bench_on_its_lag_counts(
    killed: bool,
    tmp_path: Path,
    desk_on: Open,
    database: Database,
) -> None:
    """`killed`: right after the bench was stored, before anything happened there."""
    number = interrupted(desk_on())
    desk = desk_on()
    desk.sessions = sessions_on(desk, tmp_path, slow("2 s"), database)
    if killed:
        since = 1 + max(sequence for sequence, _ in iter_events(database, number))
        desk.writer.bench(number, BenchUsed(since_sequence=since, text=slow("2 s")))
    with resumed(desk):
        desk.press()
        assert settled_after(desk, number, database, 1.8) == 1, "0.8 s of dwell are not longer than the lag"
        assert settled_after(desk, number, database, 3) == 2
    assert replay(database, number).differences == ()
    kinds = [act.kind for act in load_session(database, number).actions]
    assert kinds.count(ActionKind.OTHER_BENCH) == 1
    with resumed(desk_on()) as back:
        back.barrier()
    back.writer.flush()
    assert replay(database, number).differences == ()


def test_a_session_of_before_there_were_lags_of_another_bench_is_replayed_as_it_was(
    tmp_path: Path, desk_on: Open, database: Database
) -> None:
    """Its daemon kept the other bench and an interruption, and went on with the lags of the first."""
    number = interrupted(desk_on())
    since = 1 + max(sequence for sequence, _ in iter_events(database, number))
    desk = desk_on()
    desk.sessions = sessions_on(desk, tmp_path, BENCH, database)
    with resumed(desk):
        desk.press()
        assert settled_after(desk, number, database, 1.8) == 2
    desk.writer.bench(number, BenchUsed(since_sequence=since, text=slow("2 s")))
    assert replay(database, number).differences == ()
