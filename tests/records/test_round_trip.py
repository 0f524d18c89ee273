"""Everything that goes into the record comes out as it was, to the last bit of every float."""

import math
from dataclasses import asdict

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine

from meterlog.procedure.events import (
    Acted,
    ActionKind,
    Event,
    Measured,
    Outcome,
    SessionEnded,
    SettledValue,
    StepEnded,
    Ticked,
)
from meterlog.reading import State
from meterlog.records import (
    Instrument,
    RecordsError,
    SessionStart,
    Writer,
    iter_events,
    iter_readings,
    load_session,
)
from meterlog.records.session import KeptOutcome
from tests.records import samples

# Each example is a session of its own, so one database serves them all; a disk may be slow.
ON_ONE_DATABASE = settings(
    deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@ON_ONE_DATABASE
@given(events=st.lists(samples.EVENTS, max_size=8))
def test_events_come_back_in_their_order(engine: Engine, writer: Writer, events: list[Event]) -> None:
    session = writer.begin_session(samples.START)
    numbered = list(enumerate(events, 1))
    for sequence, event in numbered:
        writer.event(session, sequence, event)
    writer.flush()
    assert list(iter_events(engine, session)) == numbered
    assert list(iter_readings(engine, session)) == [one for one in events if isinstance(one, Measured)]
    assert load_session(engine, session).actions == tuple(one for one in events if isinstance(one, Acted))


@ON_ONE_DATABASE
@given(
    value=samples.settled_values(1),
    endings=st.lists(samples.ENDINGS, max_size=3),
    ended=st.none() | samples.SESSION_ENDINGS,
)
def test_outcomes_come_back_with_the_event_that_gave_them(
    engine: Engine, writer: Writer, value: SettledValue, endings: list[StepEnded], ended: SessionEnded | None
) -> None:
    session = writer.begin_session(samples.START)
    outcomes: list[Outcome] = [value, *endings, *([ended] if ended else [])]
    writer.event(session, 7, Ticked(1))
    writer.commit(session, 7, outcomes)
    record = load_session(engine, session)
    assert record.outcomes == tuple(
        KeptOutcome(sequence=7, position=position, outcome=outcome)
        for position, outcome in enumerate(outcomes)
    )
    assert record.settled_values == (value,)
    assert record.step_endings == tuple(endings)
    assert record.header.ended == ended
    assert record.verdict == (ended and ended.verdict)


@ON_ONE_DATABASE
@given(start=samples.STARTS, instruments=st.lists(samples.INSTRUMENTS, max_size=3))
def test_the_beginning_and_the_instruments_come_back(
    engine: Engine, writer: Writer, start: SessionStart, instruments: list[Instrument]
) -> None:
    session = writer.begin_session(start)
    for instrument in instruments:
        writer.instrument(session, instrument)
    writer.flush()
    record = load_session(engine, session)
    shown = asdict(record.header) | {"procedure_text": record.procedure_text, "bench_text": record.bench_text}
    shown |= {name: dict(getattr(record.benches[0], name)) for name in ("specifications", "profiles")}
    shown |= {"commission": asdict(record.commission)}
    assert {name: shown[name] for name in asdict(start)} == asdict(start)
    assert record.instruments == tuple(instruments)


@pytest.mark.parametrize(
    "value",
    [0.1, 5e-324, 1.7976931348623157e308, -1 / 3, math.inf, 2**53 + 0.0],
    ids=repr,
)
def test_a_float_keeps_every_bit(engine: Engine, writer: Writer, value: float) -> None:
    session = writer.begin_session(samples.START)
    writer.event(session, 1, samples.measured(1, value))
    writer.flush()
    (kept,) = iter_readings(engine, session)
    assert kept.reading.value is not None
    assert kept.reading.value.hex() == value.hex()


def test_what_is_no_number_is_a_state_and_never_a_value(engine: Engine, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    writer.event(session, 1, samples.measured(1, None))
    with pytest.raises(RecordsError, match="'output': value is not a number"):
        writer.event(session, 2, samples.measured(2, math.nan))
    writer.event(session, 2, Acted(2, ActionKind.NOTE, "the refused one used up no number"))
    writer.flush()
    (kept,) = iter_readings(engine, session)
    assert (kept.reading.value, kept.reading.state) == (None, State.OVERLOAD)


def test_a_settled_value_that_is_no_number_is_refused(engine: Engine, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    writer.event(session, 1, samples.measured(1))
    with pytest.raises(RecordsError, match="'output': value is not a number"):
        writer.commit(session, 1, [samples.settled(1, math.nan)])
    writer.flush()
    assert load_session(engine, session).outcomes == ()


def test_an_integer_beyond_the_column_is_refused(writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    with pytest.raises(RecordsError, match=r"at_ns is .* beyond 64 bits"):
        writer.event(session, 1, Ticked(2**63))


def test_one_text_is_kept_once(engine: Engine, writer: Writer) -> None:
    first, second = (writer.begin_session(samples.START) for _ in range(2))
    with engine.begin() as connection:
        digests = connection.exec_driver_sql("SELECT digest FROM documents ORDER BY kind").scalars().all()
    header = load_session(engine, second).header
    assert digests == [header.bench_digest, header.procedure_digest]
    assert load_session(engine, first).procedure_text == samples.START.procedure_text
