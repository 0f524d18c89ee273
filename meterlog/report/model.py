"""What a report says, as plain records; every text as it is to be read, every time with its offset."""

from dataclasses import dataclass
from datetime import datetime

from meterlog.report.bench_text import Laboratory
from meterlog.report.budget_model import BudgetTable
from meterlog.report.charts import Trace
from meterlog.report.condition import UnitCondition
from meterlog.report.shown import Shown
from meterlog.report.standing import Standing


@dataclass(frozen=True, slots=True)
class Issue:
    """What only who hands the report over can say: when, and to whom. None and "" if nobody does.

    customer   in place of the one kept with the session
    number     of the report, where it has one; replaces, because: the one that it stands in for, and why
    """

    at: datetime | None = None
    customer: str = ""
    number: str = ""
    replaces: str = ""
    because: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What was done, on what, by whom and when. The last moment and verdict are None in an open session.

    customer, customer_says, received, work_place   as `Commission`
    issued_before   the reports of this session that were handed over so far, under their numbers
    replacing       the report that this one stands in for, and why; "" for none
    environment    the temperatures and humidities of the session in one phrase, "" where none was told
    results_digest  SHA-256 over the outcomes as stored, "" for a session that is not from a record
    """

    number: str
    unit_model: str
    unit_serial: str
    operator: str
    procedure: str
    revision: str
    procedure_unit: str
    procedure_digest: str
    bench: str
    began: datetime
    ended: datetime | None
    recorded_verdict: Standing | None
    software: str
    laboratory: Laboratory
    customer: str
    customer_says: str
    received: str
    work_place: str
    environment: str
    replacing: str
    issued: datetime | None
    issued_before: tuple[str, ...]
    results_digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterUsed:
    """An instrument as it identified itself in the session; `seen` is when it did.

    age            of its calibration on the day of the session, in words
    specification  title and digest of the text that says what it can do; "" where there is none
    profiles       its own frequency responses and what was done with them, in words
    """

    name: str
    driver: str
    identity: str
    serial_number: str
    version: str
    calibrated: str
    age: str
    channels: tuple[str, ...]
    seen: datetime
    specification: str
    specification_digest: str
    profiles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cell:
    """One result: how it stands, and its numbers if it has any.

    about  number of the value that its window lies about; risk: that the true value is outside, in words;
    passes: within what it would, where a guard band makes that other than its window, in words
    corrected  by how much and by what, in words; "" for a value as it was shown
    """

    standing: Standing
    shown: Shown | None = None
    number: int | None = None
    coverage_factor: float | None = None
    reason: str = ""
    about: int | None = None
    risk: str = ""
    corrected: str = ""
    passes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the results: a step, or one condition or edge of it; `left_alone`: nothing was turned."""

    title: str
    line: str
    target: str
    window: str
    found: Cell
    left: Cell
    left_alone: bool = False


@dataclass(frozen=True, slots=True)
class Overall:
    """A pass over all steps in one word, and the counts that make it so."""

    standing: Standing
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRun:
    """One place of the plan: how it went. Times are None for a step never ended."""

    place: int
    pass_: str
    title: str
    standing: Standing
    attempt: int
    began: datetime | None
    ended: datetime | None
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Captured:
    """One settled value of the record, whether it counts or not. `fate` says what became of it."""

    number: int
    at: datetime
    pass_: str
    title: str
    line: str
    shown: Shown
    coverage_factor: float
    readings: int
    standing: Standing
    fate: str


@dataclass(frozen=True, slots=True)
class Deviation:
    """Something done otherwise than the procedure asks: when, what, at which step, why."""

    at: datetime
    what: str
    where: str
    reason: str


@dataclass(frozen=True, slots=True)
class Cautions:
    """A gate that was passed: when, which, and what was confirmed."""

    at: datetime
    title: str
    confirmed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Statements:
    """What a report says of itself, whole sentences. `left_out`: what it does not know."""

    decision_rule: str
    coverage: str
    item_only: str
    conditions: str
    traceability: str
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EnvironmentTold:
    """Temperature and relative humidity as told at a moment; "" where not told, both: not known any more."""

    at: datetime
    temperature: str
    humidity: str
    source: str


@dataclass(frozen=True, slots=True)
class Note:
    """What the operator wrote, or did with a reason, and when."""

    at: datetime
    kind: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """A guard that tripped: when, in which step, what was shown and the limit, both ready to be read."""

    at: datetime
    guard: str
    pass_: str
    title: str
    channel: str
    value: str
    limit: str


@dataclass(frozen=True, slots=True)
class Signature:
    """A name typed in at the end of a session, and when."""

    name: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Chart:
    """An adjustment as a picture with its caption."""

    caption: str
    trace: Trace


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """All of it. `warning` is empty for a finished session, `remark` where a stored charge was measured or
    was none of the procedure's business, `signature` where somebody has signed."""

    header: Header
    condition: UnitCondition
    warning: str
    remark: str
    overrides: tuple[str, ...]
    meters: tuple[MeterUsed, ...]
    environment: tuple[EnvironmentTold, ...]
    levels: tuple[str, ...]
    as_found: Overall
    as_left: Overall
    rows: tuple[Row, ...]
    steps: tuple[StepRun, ...]
    superseded: tuple[Captured, ...]
    captured: tuple[Captured, ...]
    deviations: tuple[Deviation, ...]
    cautions: tuple[Cautions, ...]
    notes: tuple[Note, ...]
    trips: tuple[Trip, ...]
    charts: tuple[Chart, ...]
    budgets: tuple[BudgetTable, ...]
    without_budget: tuple[int, ...]
    signature: Signature | None
    statements: Statements
