"""Replay: the stored events through the same code give the stored outcomes, and any change is found."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from sqlalchemy import Engine as Database
from sqlalchemy import text

from meterlog.procedure import Engine, IllegalAction, ProcedureError, load_procedure_text
from meterlog.procedure.events import Acted, ActionKind, Event, Measured, Outcome, Ticked
from meterlog.quantity import References, parse_quantity
from meterlog.records import (
    RecordsError,
    SessionStart,
    Writer,
    build_engine,
    load_session,
    references_of,
    replay,
)
from meterlog.records.engine import for_writing
from tests.procedure.bench import HEAD, Bench, ramp
from tests.procedure.test_patterns import ADJUST, PLUS_4_DBU
from tests.records import samples


class Doubler:
    """A little engine: every reading settles at twice its value."""

    def __init__(self, factor: float = 2.0) -> None:
        self._factor = factor
        self._count = 0

    def apply(self, event: Event) -> list[Outcome]:
        if isinstance(event, Acted) and event.kind is ActionKind.REDO:
            raise IllegalAction("there is nothing to redo")
        if not isinstance(event, Measured) or event.reading.value is None:
            return []
        self._count += 1
        return [samples.settled(self._count, self._factor * event.reading.value, event.at_ns)]


def _keep(
    writer: Writer,
    events: list[Event],
    apply: Callable[[Event], list[Outcome]],
    start: SessionStart = samples.START,
) -> int:
    """As the daemon does it: a tick is kept only if something came out of it."""
    session = writer.begin_session(start)
    for sequence, event in enumerate(events, 1):
        outcomes = apply(event)
        if outcomes or not isinstance(event, Ticked):
            writer.event(session, sequence, event)
        if outcomes:
            writer.commit(session, sequence, outcomes)
    writer.flush()
    return session


@pytest.fixture
def doubled(writer: Writer) -> int:
    events: list[Event] = [samples.measured(at_ns, 1 / at_ns) for at_ns in range(1, 6)]
    return _keep(writer, [*events, Acted(9, ActionKind.NOTE, "dusty")], Doubler().apply)


def _change(engine: Database, statement: str) -> None:
    with for_writing(engine).begin() as connection:
        connection.execute(text(statement))


def test_the_same_engine_gives_the_same(engine: Database, doubled: int) -> None:
    report = replay(engine, doubled, lambda _: Doubler())
    assert (report.events, report.settled_values, report.step_endings, report.ended) == (6, 5, 0, False)
    assert report.differences == ()


def test_one_bit_is_a_difference(engine: Database, doubled: int) -> None:
    _change(engine, "UPDATE settled_values SET value = 0.6666666666666667 WHERE number = 3")
    (difference,) = replay(engine, doubled, lambda _: Doubler()).differences
    assert difference == (
        "event 3: settled value 3 (level, as found): "
        "value 0.6666666666666667 stored, 0.6666666666666666 replayed"
    )


def test_another_uncertainty_of_an_equal_value_is_told_apart(engine: Database, doubled: int) -> None:
    """As of a session whose version computed coverage factors otherwise. The figures are made up."""
    _change(
        engine,
        "UPDATE settled_values SET coverage_factor = 2.02, expanded_uncertainty = 2.02e-4 WHERE number > 3",
    )
    report = replay(engine, doubled, lambda _: Doubler())
    assert report.differences[0] == (
        "event 4: settled value 4 (level, as found): value and verdict are equal; "
        "expanded_uncertainty 0.000202 stored, 0.0002 replayed, coverage_factor 2.02 stored, 2.0 replayed"
    )
    assert (len(report.differences), report.how_sure, report.software) == (2, 2, "0.1.0")
    _change(engine, "UPDATE settled_values SET verdict = 'fail' WHERE number = 5")
    assert replay(engine, doubled, lambda _: Doubler()).how_sure == 1


def test_every_outcome_of_another_engine_differs(engine: Database, doubled: int) -> None:
    assert len(replay(engine, doubled, lambda _: Doubler(2.000000000000001)).differences) == 5


@pytest.mark.parametrize(
    ("statement", "expected"),
    [
        (
            "DELETE FROM settled_values WHERE number = 5",
            "event 5: replay gives settled value 5 (level, as found), which is not stored",
        ),
        (
            "UPDATE readings SET value = NULL, state = 'blank' WHERE sequence = 5",
            "event 5: settled value 5 (level, as found) is stored, replay does not give it",
        ),
        (
            "DELETE FROM readings WHERE sequence = 5",
            "event 5 is not stored, but settled value 5 (level, as found) rests on it",
        ),
        (
            "UPDATE actions SET kind = 'redo'",
            "event 6: refused now, though it was accepted: there is nothing to redo",
        ),
        (
            "UPDATE settled_values SET verdict = 'fail' WHERE number = 5",
            "event 5: settled value 5 (level, as found): verdict fail stored, pass replayed",
        ),
    ],
)
def test_whatever_was_tampered_with_is_told(
    engine: Database, doubled: int, statement: str, expected: str
) -> None:
    _change(engine, statement)
    assert replay(engine, doubled, lambda _: Doubler()).differences == (expected,)


def test_a_session_that_is_not_there(engine: Database) -> None:
    with pytest.raises(RecordsError, match="no session 1"):
        replay(engine, 1)


def test_a_whole_alignment_replays_to_the_last_bit(engine: Database, writer: Writer) -> None:
    bench = Bench(ADJUST)
    for level in (1.0, ramp(1.0, PLUS_4_DBU, 1.0), PLUS_4_DBU):
        bench.run(6, output=level)
    bench.press()
    start = replace(samples.START, procedure_text=bench.engine.procedure.text)
    session = _keep(writer, bench.events, Engine(bench.engine.procedure).apply, start)
    report = replay(engine, session)
    assert report.differences == ()
    assert report.ended
    assert report.settled_values == len(bench.settled) >= 3
    record = load_session(engine, session)
    assert [kept.outcome for kept in record.outcomes] == bench.outcomes


def test_a_changed_reading_shows_in_the_replay_of_an_alignment(engine: Database, writer: Writer) -> None:
    bench = Bench(ADJUST)
    bench.run(6, output=1.0)
    start = replace(samples.START, procedure_text=bench.engine.procedure.text)
    session = _keep(writer, bench.events, Engine(bench.engine.procedure).apply, start)
    _change(engine, "UPDATE readings SET value = value + 0.0001")
    assert any("value " in one for one in replay(engine, session).differences)


def test_the_levels_of_the_bench_are_in_force(engine: Database, writer: Writer) -> None:
    """A target in VU means nothing until the bench says what 0 VU is."""
    procedure = HEAD.replace('[levels]\nvu = "+4 dBu"\n', "") + ADJUST.replace("+4 dBu", "0 VU")
    bench_text = '[levels]\nvu = "+4 dBu"\ndbfs = "+18 dBu"\ndbm_ohm = 600\n'
    references = References(vu=parse_quantity("+4 dBu"), dbfs=parse_quantity("+18 dBu"), dbm_ohm=600.0)
    assert references_of(bench_text) == references
    session = writer.begin_session(replace(samples.START, procedure_text=procedure, bench_text=bench_text))
    rebuilt = build_engine(load_session(engine, session))
    assert rebuilt.plan == Engine(load_procedure_text(procedure, "", references)).plan

    without = writer.begin_session(replace(samples.START, procedure_text=procedure))
    with pytest.raises(ProcedureError, match=f"procedure of session {without}"):
        replay(engine, without)
