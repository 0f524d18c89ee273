"""How a session comes to run: begun anew, or taken up where a stopped daemon left it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import sqlalchemy

from meterlog.accuracy import Environment
from meterlog.accuracy.environment import NOT_KNOWN
from meterlog.bench import Bench, Clock
from meterlog.daemon.checked import MeterNotices
from meterlog.daemon.errors import DaemonError
from meterlog.daemon.fit import NotAdequate, notes_of_override, require_fit, warnings_before
from meterlog.daemon.running import Running
from meterlog.daemon.strangers import strangers_of
from meterlog.daemon.timeline import Timeline
from meterlog.daemon.version import VERSION
from meterlog.errors import MeterlogError
from meterlog.procedure import (
    GUIDED_BY_THE_RULE,
    ActionKind,
    Engine,
    Outcome,
    Procedure,
    SessionState,
)
from meterlog.records import (
    BenchUsed,
    Commission,
    SessionRecord,
    SessionStart,
    Writer,
    build_engine,
    changes_of,
    iter_events,
    load_session,
    meters_of,
    unfinished_session,
)

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


@dataclass(frozen=True, slots=True)
class Unit:
    """The thing to be aligned, who does it and for whom, and how warm and humid it is there."""

    model: str
    serial: str
    operator: str
    batch: str = ""
    commission: Commission = field(default_factory=Commission)
    environment: Environment = field(default_factory=Environment)


@dataclass(frozen=True, slots=True)
class Sessions:
    """Both ways. Called on the runner's thread, or before it starts."""

    database: sqlalchemy.Engine
    writer: Writer
    bench: Bench
    clock: Clock

    def begin(self, procedure: Procedure, unit: Unit, notes: Sequence[str] = ()) -> Running:
        """`notes` are kept with its beginning. NotStored: it has not begun."""
        origin_ns = self.clock.monotonic_ns()
        start = SessionStart(
            unit_model=unit.model,
            unit_serial=unit.serial,
            operator=unit.operator,
            batch=unit.batch,
            procedure_title=procedure.title,
            procedure_text=procedure.text,
            bench_text=self.bench.text,
            specifications=self.bench.specification_texts,
            profiles=self.bench.profile_texts,
            began_time_ns=self.clock.utc_ns(),
            origin_ns=origin_ns,
            boot_id=_boot_id(),
            software=f"meterlog {VERSION}",
            commission=unit.commission,
        )
        session_id = self.writer.begin_session(start)
        engine = Engine(procedure, *meters_of(self._bench_used(0), start.began_time_ns))
        running = Running(session_id, engine, Timeline(origin_ns), self.writer)
        running.acted(origin_ns, ActionKind.START, GUIDED_BY_THE_RULE)
        if unit.environment:
            running.acted(origin_ns, ActionKind.ENVIRONMENT, unit.environment.text)
        known = warnings_before(self.bench, procedure, procedure.title)
        for warning in [*known, *MeterNotices(self.database, self.bench).of(procedure)]:
            running.acted(origin_ns, ActionKind.NOTE, f"Known before it began: {warning}")
        for note in notes:
            running.acted(origin_ns, ActionKind.NOTE, note)
        return running

    def resume(self) -> Running | None:
        """The session that a stopped daemon left running, if there is one. DaemonError as `go_on_with`, or it
        waits for somebody to say why a meter is used that is not good enough."""
        session_id = unfinished_session(self.database)
        try:
            return None if session_id is None else self.go_on_with(session_id)
        except NotAdequate as refusal:
            raise DaemonError(
                f"Session {session_id} was interrupted and waits. {refusal.what} Use a better meter, or "
                f"go on and say why: on the page, or by meterlog resume {session_id} --override TEXT."
            ) from refusal

    def go_on_with(self, session_id: int, override: str = "") -> Running:
        """A session that has not ended, on today's bench: its meters need not be those of the beginning.

        NotAdequate: one of them is not good enough, and no `override` says why it is used all the same.
        DaemonError: it cannot go on. Its record stays as it is.
        """
        try:
            record = load_session(self.database, session_id)
            engine = build_engine(record)
            require_fit(self.bench, engine.procedure)
            return self._taken_up(record, engine, override)
        except NotAdequate:
            raise
        except Exception as error:  # whatever a record holds, the daemon must start
            raise DaemonError(
                f"Session {session_id} was interrupted and cannot go on: {_reason(error)} "
                "It stays in the record as it is; begin a new one."
            ) from error

    def _taken_up(self, record: SessionRecord, engine: Engine, override: str) -> Running:
        session_id = record.header.id
        sequence, last_ns, missing = _rebuild(engine, self.database, record)
        before = record.benches[-1]
        other = before != self._bench_used(before.since_sequence)
        # A daemon that was killed at once has left a bench on record where nothing has happened yet.
        other_bench = engine.state is not SessionState.ENDED and (other or before.since_sequence > sequence)
        said = [action.text for action in record.actions if action.kind is ActionKind.NOTE]
        notes = notes_of_override(self.bench, engine.procedure, override, said=said) if other_bench else []
        monotonic_ns = self.clock.monotonic_ns()
        timeline = Timeline.carried_on(
            last_ns=last_ns,
            last_time_ns=record.header.began_time_ns + last_ns,
            time_ns=self.clock.utc_ns(),
            monotonic_ns=monotonic_ns,
        )
        running = Running(session_id, engine, timeline, self.writer, sequence, strangers_of(record))
        if missing:
            running.commit(missing)
        if other_bench:
            bench = self._bench_used(sequence + 1)
            self.writer.bench(session_id, bench)
            engine.use(*meters_of(bench, record.header.began_time_ns))
        if not sequence:
            running.acted(monotonic_ns, ActionKind.START, GUIDED_BY_THE_RULE)
        if other_bench:
            self._tell_of_the_bench(running, monotonic_ns, notes)
        elif sequence and not running.ended:
            running.acted(monotonic_ns, ActionKind.INTERRUPTED)
        return running

    def _tell_of_the_bench(self, running: Running, monotonic_ns: int, notes: Sequence[str]) -> None:
        running.acted(monotonic_ns, ActionKind.OTHER_BENCH, self.bench.name)
        if running.engine.environment:
            running.acted(monotonic_ns, ActionKind.ENVIRONMENT, NOT_KNOWN)
        for note in notes:
            running.acted(monotonic_ns, ActionKind.NOTE, note)

    def _bench_used(self, since_sequence: int) -> BenchUsed:
        """Today's."""
        return BenchUsed(
            since_sequence=since_sequence,
            text=self.bench.text,
            specifications=self.bench.specification_texts,
            profiles=self.bench.profile_texts,
        )


def _rebuild(
    engine: Engine, database: sqlalchemy.Engine, record: SessionRecord
) -> tuple[int, int, Sequence[Outcome]]:
    """Give the engine all stored events: (last sequence, last at_ns, outcomes of the last event that a
    crash kept from the disk). DaemonError: another outcome than the stored one came out."""
    given: list[tuple[int, Outcome]] = []
    sequence = last_ns = 0
    changes = changes_of(record)
    for sequence, event in iter_events(database, record.header.id):
        if sequence in changes:
            engine.use(*changes[sequence])
        given += [(sequence, outcome) for outcome in engine.apply(event)]
        last_ns = max(last_ns, event.at_ns)
    for since, meters in changes.items():
        if since > sequence:  # gone on with there, and stopped before anything happened
            engine.use(*meters)
    stored = [(kept.sequence, kept.outcome) for kept in record.outcomes]
    missing = given[len(stored) :]
    if given[: len(stored)] != stored or any(number != sequence for number, _ in missing):
        raise DaemonError(
            "this version of meterlog comes to other results than those stored "
            f"(look with: meterlog replay {record.header.id})."
        )
    return sequence, last_ns, [outcome for _, outcome in missing]


def _reason(error: Exception) -> str:
    """Errors of this project speak in sentences; of others the kind is told, for the text may be empty."""
    return str(error) if isinstance(error, MeterlogError) else f"{type(error).__name__}: {error}."


def _boot_id() -> str:
    """Which run of the machine the monotonic clock belongs to; "" where the system does not say."""
    try:
        return _BOOT_ID.read_text().strip()
    except OSError:
        return ""
