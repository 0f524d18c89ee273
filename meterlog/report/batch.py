"""A batch of units with one procedure: units against steps, yield, spread, outliers, pairs.

What counts of a unit is its last session in the batch that has ended; what it was left at is compared.
First-time yield: units whose first session passed without any step redone, over all units that are done.
"""

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import Engine

from meterlog.accuracy import Verdict
from meterlog.accuracy.outliers import grubbs, word
from meterlog.procedure import ActionKind, SettledValue
from meterlog.quantity import Scale, show_number
from meterlog.records import SessionHeader, list_sessions
from meterlog.report.batch_file import Batch
from meterlog.report.open import open_session
from meterlog.report.rows import left_values
from meterlog.report.session import Session
from meterlog.report.shown import scale_for

NOT_BEGUN, OPEN = "not begun", "open"


@dataclass(frozen=True, slots=True)
class UnitLine:
    """One unit: how it stands (a verdict, "open" or "not begun") and its last session."""

    serial: str
    standing: str
    session: int | None = None
    first_time: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StepLine:
    """One result of the procedure over all units, on `unit` as it is shown.

    cells    by serial number, "" where a unit has no value
    spread   standard deviation, None below two values; cpk the process capability, None without both limits
    apart    (serial, "straggler" or "outlier") of the value furthest away, if it is one
    """

    step: str
    title: str
    unit: str
    cells: dict[str, str]
    count: int
    median: str
    spread: float | None
    cpk: float | None
    apart: tuple[str, str] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchReport:
    """`pairs`: serial numbers of neighbours in the order of their values, and how far apart they lie."""

    batch: Batch
    units: tuple[UnitLine, ...]
    steps: tuple[StepLine, ...]
    pairs: tuple[tuple[str, str, str], ...]

    @property
    def done(self) -> int:
        return sum(unit.standing not in (NOT_BEGUN, OPEN) for unit in self.units)

    @property
    def first_time(self) -> int:
        return sum(unit.first_time for unit in self.units)

    @property
    def passed(self) -> int:
        return sum(unit.standing == Verdict.PASS for unit in self.units)

    @property
    def conditional(self) -> int:
        """Passed by less than the uncertainty; not among `passed`."""
        return sum(unit.standing == Verdict.CONDITIONAL_PASS for unit in self.units)

    @property
    def next_serial(self) -> str:
        """The first unit that is not begun, "" when all are."""
        return next((unit.serial for unit in self.units if unit.standing == NOT_BEGUN), "")


def batch_report(engine: Engine, batch: Batch) -> BatchReport:
    """What the record knows of the batch now."""
    headers = [h for h in reversed(list_sessions(engine)) if h.batch == batch.name]
    units = tuple(_unit_line(engine, serial, headers) for serial in _serials(batch, headers))
    sessions = {
        unit.serial: open_session(engine, unit.session)
        for unit in units
        if unit.session is not None and unit.standing != OPEN
    }
    values = {serial: left_values(session) for serial, session in sessions.items()}
    keys = list(dict.fromkeys(key for found in values.values() for key in found))
    lines = [_step_line(key, values, sessions) for key in keys]
    pairs = _pairs(batch.pair_by, values, sessions)
    return BatchReport(batch=batch, units=units, steps=tuple(lines), pairs=tuple(pairs))


Key = tuple[str, str, str]
"""Id of the step, its title, and which of its results."""
Values = dict[str, dict[Key, SettledValue]]


def _serials(batch: Batch, headers: Iterable[SessionHeader]) -> list[str]:
    """Those of the list, then those that were done without standing there."""
    return list(dict.fromkeys([*batch.serials, *(header.unit_serial for header in headers)]))


def _unit_line(engine: Engine, serial: str, headers: Sequence[SessionHeader]) -> UnitLine:
    own = [header for header in headers if header.unit_serial == serial]
    ended = [header for header in own if header.ended is not None]
    if not own:
        return UnitLine(serial, NOT_BEGUN)
    if not ended or own[-1].ended is None:
        return UnitLine(serial, OPEN, own[-1].id)
    last = ended[-1]
    assert last.ended is not None
    return UnitLine(serial, last.ended.verdict, last.id, _first_time(engine, own[0]))


def _first_time(engine: Engine, first: SessionHeader) -> bool:
    if first.ended is None or first.ended.verdict is not Verdict.PASS:
        return False
    actions = open_session(engine, first.id).course.actions
    return all(action.kind is not ActionKind.REDO for action in actions)


def _step_line(key: Key, values: Values, sessions: dict[str, Session]) -> StepLine:
    found = {serial: own[key] for serial, own in values.items() if key in own}
    scale = _common_scale(found, sessions)
    numbers = {serial: scale.from_base(value.value) for serial, value in found.items()}
    ordered = list(numbers.values())
    spread = statistics.stdev(ordered) if len(ordered) > 1 else None
    step, title, line = key
    return StepLine(
        step=step,
        title=f"{title}, {line}" if line else title,
        unit=f"{scale.symbol}{scale.bracket}",
        cells={serial: _text(value, value.value, scale) for serial, value in found.items()},
        count=len(found),
        median=_text(next(iter(found.values())), scale.to_base(statistics.median(ordered)), scale),
        spread=spread,
        cpk=_cpk(list(found.values()), scale),
        apart=_apart(numbers),
    )


def _common_scale(found: dict[str, SettledValue], sessions: dict[str, Session]) -> Scale:
    """The shown scale, or the base unit's as soon as one value has no number on it."""
    scales = [scale_for(value, sessions[serial].scale(value)) for serial, value in found.items()]
    return next((scale for scale in scales if not scale.is_level), scales[0])


def _text(value: SettledValue, base: float, scale: Scale) -> str:
    return show_number(base, scale, max(value.expanded_uncertainty / 10.0, 1e-12))


def _cpk(values: Sequence[SettledValue], scale: Scale) -> float | None:
    """Capability: the nearer limit less the mean, over three standard deviations (common practice, as in
    ISO 22514-2). None with fewer than two values, without spread, or where a limit is missing or differs.
    """
    limits = {(value.low, value.high) for value in values}
    (low, high), *others = limits
    if others or low is None or high is None or len(values) < 2:
        return None
    numbers = [scale.from_base(value.value) for value in values]
    deviation = statistics.stdev(numbers)
    mean = statistics.fmean(numbers)
    room = min(scale.from_base(high) - mean, mean - scale.from_base(low))
    return room / (3.0 * deviation) if deviation > 0.0 and math.isfinite(room) else None


def _apart(numbers: dict[str, float]) -> tuple[str, str] | None:
    found = grubbs(list(numbers.values()))
    said = word(found, len(numbers))
    return (list(numbers)[found.place], said) if found and said else None


def _pairs(step: str, values: Values, sessions: dict[str, Session]) -> Iterable[tuple[str, str, str]]:
    """Neighbours in the order of the step's values belong together; an odd one is left over."""
    if not step:
        return
    keys = [key for found in values.values() for key in found if key[0] == step][:1]
    found = {serial: own[keys[0]] for serial, own in values.items() if keys and keys[0] in own}
    if not found:
        return
    scale = _common_scale(found, sessions)
    ordered = sorted(found, key=lambda serial: found[serial].value)
    for one, other in zip(ordered[::2], ordered[1::2], strict=False):
        apart = scale.from_base(found[other].value) - scale.from_base(found[one].value)
        unit = "dB" if scale.is_level else scale.symbol
        yield one, other, f"{apart:.3g} {unit}"
