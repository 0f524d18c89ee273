"""A recorded session made up step by step, for the tests of reports and exports. All of it is invented."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

from meterlog.accuracy import Verdict
from meterlog.accuracy.budget import Line
from meterlog.procedure import (
    Acted,
    ActionKind,
    Ending,
    GuardTripped,
    Measured,
    Pass,
    PlannedStep,
    Role,
    SessionEnded,
    SettledValue,
    StepEnded,
    load_procedure_text,
    plan_of,
)
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Reading, State
from meterlog.records import Commission, IssuedReport
from meterlog.records.session import Instrument, SessionHeader
from meterlog.report.bench_text import read_bench_text
from meterlog.report.session import Session
from meterlog.report.standing import Course

_FOLDER = Path(__file__).parent
BENCH = _FOLDER.joinpath("bench.toml").read_text(encoding="utf-8")

PROCEDURE = _FOLDER.joinpath("wagtail.toml").read_text(encoding="utf-8")

OFFSET = _FOLDER.joinpath("offset.toml").read_text(encoding="utf-8")
CHECK_ONLY = _FOLDER.joinpath("supply.toml").read_text(encoding="utf-8")

BEGAN = datetime(2026, 10, 25, 0, 20, tzinfo=UTC)
SUMMER = timezone(timedelta(hours=2))
NS = 1_000_000_000
BEGAN_NS = round(BEGAN.timestamp()) * NS
METER = Instrument(
    meter="bench meter", driver="scpi", maker="Dotterel", model="6-digit meter", serial_number="DT-0007",
    version="1.02", calibrated="2026-03-01", seen_time_ns=BEGAN_NS, since_sequence=1,
)  # fmt: skip


def dbu(level: float) -> float:
    """Volts of a level; 0 dBu is the root of 0.6 V squared."""
    return float(math.sqrt(0.6) * 10.0 ** (level / 20.0))


NEAR_4_DBU = (dbu(3.9), dbu(4.1))


@dataclass
class Story:
    """Grows by one event at a time, each ten seconds after the one before."""

    text: str = PROCEDURE
    now_s: float = 0.0
    values: list[SettledValue] = field(default_factory=list)
    endings: list[StepEnded] = field(default_factory=list)
    actions: list[Acted] = field(default_factory=list)
    trips: list[GuardTripped] = field(default_factory=list)
    readings: list[Measured] = field(default_factory=list)
    attempts: dict[int, int] = field(default_factory=dict)
    ended: SessionEnded | None = None
    bench: str = BENCH
    specifications: Mapping[str, str] = field(default_factory=dict)
    commission: Commission = field(default_factory=Commission)
    issued: list[IssuedReport] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.procedure = load_procedure_text(self.text, "story.toml", read_bench_text(BENCH).references)

    def planned(self, step: str, pass_: Pass) -> PlannedStep:
        return next(p for p in plan_of(self.procedure) if p.step.id == step and p.pass_ is pass_)

    def passing(self, seconds: float = 10.0) -> int:
        self.now_s += seconds
        return round(self.now_s * NS)

    def capture(
        self, step: str, pass_: Pass, value: float, *, role: Role = Role.MEASURED, condition: str = "",
        channel: str = "output", uncertainty: float | None = None, target: float | None = None,
        window: tuple[float, float] | None = None, round_: int = 1, budget: tuple[Line, ...] = (),
        about: int | None = None, coverage_factor: float = 2.13,
    ) -> SettledValue:  # fmt: skip
        place = self.planned(step, pass_).place
        standard = abs(value) * 0.001 if uncertainty is None else uncertainty
        low, high = window or (None, None)
        at_ns = self.passing()
        settled = SettledValue(
            number=len(self.values) + 1, place=place, step=step, condition=condition, pass_=pass_, role=role,
            channel=channel, value=value, unit=Unit.VOLT, standard_uncertainty=standard,
            degrees_of_freedom=20.0, expanded_uncertainty=coverage_factor * standard,
            coverage_factor=coverage_factor, readings=12,
            since_ns=at_ns - 2 * NS, at_ns=at_ns, target=target, low=low, high=high,
            verdict=self.procedure.rule.decide(value, low, high, standard, 2.13 * standard), round=round_,
            attempt=self.attempts.get(place, 1),
            replaces=self._replaced(place, condition, role), budget=budget, about=about,
        )  # fmt: skip
        self.values.append(settled)
        return settled

    def _replaced(self, place: int, condition: str, role: Role) -> int | None:
        """As the engine numbers them: the last one in this place of an earlier attempt."""
        same = [v for v in self.values if (v.place, v.condition, v.role) == (place, condition, role)]
        earlier = same[-1:] and same[-1].attempt < self.attempts.get(place, 1)
        return same[-1].number if earlier else None

    def end(
        self, step: str, pass_: Pass, verdict: Verdict = Verdict.NOT_JUDGED,
        ending: Ending = Ending.DONE, reason: str = "", lasted_s: float = 60.0,
    ) -> None:  # fmt: skip
        place, at_ns = self.planned(step, pass_).place, self.passing(1.0)
        self.endings.append(
            StepEnded(
                place=place,
                step=step,
                pass_=pass_,
                attempt=self.attempts.get(place, 1),
                ending=ending,
                verdict=verdict,
                began_ns=max(0, at_ns - round(lasted_s * NS)),
                at_ns=at_ns,
                reason=reason,
            )
        )

    def trip(self, step: str, pass_: Pass, value: float | None, limit: float) -> None:
        self.trips.append(
            GuardTripped(
                guard="Output drive",
                place=self.planned(step, pass_).place,
                step=step,
                pass_=pass_,
                channel="output",
                value=value,
                limit=limit,
                at_ns=self.passing(),
            )
        )

    def skip(self, step: str, pass_: Pass, reason: str) -> None:
        self.end(step, pass_, ending=Ending.SKIPPED, reason=reason)

    def level(
        self, step: str, pass_: Pass, value_dbu: float, target_dbu: float = 4.0, half_db: float = 0.1
    ) -> None:
        """Capture and end a step that aims at a level."""
        role = Role.MEASURED if pass_ is not Pass.ADJUST else Role.ADJUSTED
        value = self.capture(step, pass_, dbu(value_dbu), role=role, target=dbu(4.0), window=NEAR_4_DBU)
        self.end(step, pass_, value.verdict, lasted_s=12.0)

    def act(self, kind: ActionKind, text: str = "", place: int | None = None) -> None:
        self.actions.append(Acted(self.passing(1.0), kind, text, place))

    def redo(self, step: str, pass_: Pass, reason: str, *, say_place: bool = True) -> None:
        place = self.planned(step, pass_).place
        self.attempts[place] = self.attempts.get(place, 1) + 1
        self.act(ActionKind.REDO, reason, place if say_place else None)

    def read(self, channel: str, at_s: float, value: float | None, state: State = State.OK) -> None:
        at_ns = round(at_s * NS)
        reading = Reading(
            monotonic_ns=at_ns, value=value, unit=Unit.VOLT, state=state, coupling=Coupling.AC,
            resolution=0.0001, flags=frozenset({"auto"}), raw=b"+1.2277E+00\n", channel=channel,
            time_ns=BEGAN_NS + at_ns,
        )  # fmt: skip
        self.readings.append(Measured(at_ns, reading))

    def close(self, verdict: Verdict) -> None:
        self.ended = SessionEnded(verdict=verdict, at_ns=self.passing())

    def between(self, channel: str | None, from_ns: int | None, to_ns: int | None) -> Iterator[Measured]:
        for measured in self.readings:
            wanted = channel in (None, measured.reading.channel)
            if wanted and (from_ns or 0) <= measured.at_ns < (to_ns or measured.at_ns + 1):
                yield measured

    def session(self) -> Session:
        return Session(
            header=self.header(),
            instruments=(METER,),
            procedure=self.procedure,
            bench=read_bench_text(self.bench, self.specifications),
            course=Course(self.values, self.endings, self.actions, self.trips, plan_of(self.procedure)),
            readings=self.between,
            zone=SUMMER,
            commission=self.commission,
            issued=self.issued,
        )

    def header(self) -> SessionHeader:
        return SessionHeader(
            id=12, unit_model="Wagtail 12", unit_serial="W12-0042", operator="M. Tern", software="0.1.0",
            procedure_title=self.procedure.title, procedure_digest=self.procedure.digest, bench_digest="",
            began_time_ns=BEGAN_NS, origin_ns=0, boot_id="", ended=self.ended,
        )  # fmt: skip
