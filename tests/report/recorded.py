"""A session run by the real engine and stored by the real writer, with a meter that is a list of numbers."""

import math
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Engine

from meterlog.procedure import (
    GUIDED_BY_THE_RULE,
    Acted,
    ActionKind,
    Event,
    Measured,
    Outcome,
    SettledValue,
    Ticked,
    load_procedure_text,
)
from meterlog.procedure import Engine as Procedure
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Reading, State
from meterlog.records.engine import open_engine
from meterlog.records.migrate import migrate
from meterlog.records.rebuild import meters_of
from meterlog.records.session import BenchUsed, SessionStart
from meterlog.records.writer import Writer
from tests.report.story import BEGAN_NS, BENCH, CHECK_ONLY, METER, NS

_PERIOD_NS = NS // 5
USED = BenchUsed(since_sequence=0, text=BENCH)
START = SessionStart(
    unit_model="Any supply",
    unit_serial="7",
    operator="M. Tern",
    procedure_title="Check of a supply",
    procedure_text=CHECK_ONLY,
    bench_text=BENCH,
    began_time_ns=BEGAN_NS,
    origin_ns=0,
    boot_id="b",
    software="0.1.0",
)


def new_record(folder: Path) -> Engine:
    engine = open_engine(folder / "record.sqlite3")
    migrate(engine)
    return engine


class Recorded:
    """A session of one channel, "rail"; use it as a context: leaving it flushes and closes the writer."""

    def __init__(
        self,
        engine: Engine,
        text: str = CHECK_ONLY,
        *,
        serial: str = "7",
        batch: str = "",
        bench: BenchUsed = USED,
    ) -> None:
        self._writer = Writer(engine)
        self._procedure = Procedure(
            load_procedure_text(text, "recorded.toml"), *meters_of(bench, START.began_time_ns)
        )
        self._sequence = 0
        self._at_ns = 0
        self.id = self._writer.begin_session(
            replace(
                START,
                procedure_text=text,
                unit_serial=serial,
                batch=batch,
                bench_text=bench.text,
                specifications=bench.specifications,
                profiles=bench.profiles,
            )
        )
        self._writer.instrument(self.id, METER)
        self._writer.instrument(self.id, replace(METER, seen_time_ns=BEGAN_NS + NS, since_sequence=2))
        self.act(ActionKind.START, GUIDED_BY_THE_RULE)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._writer.close()

    def act(self, kind: ActionKind, text: str = "") -> None:
        self._apply(Acted(self._at_ns, kind, text))

    def enter(self, text: str) -> None:
        self.act(ActionKind.ENTER, text)

    def tick(self) -> None:
        """Time goes on; kept, as the daemon does it, where something came of it."""
        self._apply(Ticked(self._at_ns))

    def redo(self, reason: str) -> None:
        self.act(ActionKind.REDO, reason)

    def go_on(self) -> None:
        self.act(ActionKind.GO_ON)

    def settle_at(self, volts: float) -> None:
        """Readings with a millivolt of ripple, until the engine takes a value."""
        for index in range(400):
            if any(isinstance(o, SettledValue) for o in self.read(volts + 0.001 * math.sin(index * 2.4))):
                return
        raise AssertionError("it never settled")

    def sweep(self, volts: float, to_volts: float) -> None:
        """Two seconds from one level to another."""
        for index in range(11):
            self.read(volts + (to_volts - volts) * index / 10.0)

    def read(self, volts: float) -> list[Outcome]:
        reading = Reading(
            monotonic_ns=self._at_ns, value=volts, unit=Unit.VOLT, state=State.OK, coupling=Coupling.DC,
            resolution=0.001, channel="rail", time_ns=BEGAN_NS + self._at_ns, raw=b"+1.5000E+01\n",
        )  # fmt: skip
        return self._apply(Measured(self._at_ns, reading))

    def _apply(self, event: Event) -> list[Outcome]:
        self._sequence += 1
        self._at_ns += _PERIOD_NS
        self._writer.event(self.id, self._sequence, event)
        outcomes = self._procedure.apply(event)
        if outcomes:
            self._writer.commit(self.id, self._sequence, outcomes)
        return outcomes
