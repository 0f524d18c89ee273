"""Whether a meter is good enough for a step, before anything is measured.

The measure is the test uncertainty ratio: the width between the limits over twice the expanded uncertainty
(95.45 %) that the meter's specification leaves, NCSLI RP-19. Four and more is the habit of the trade; with
less a guard band eats much of the window, and at one nothing is left of it. The uncertainty is that of a
session's budget for readings that do not scatter: both are worked out by `meterlog.accuracy.appraisal`.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from meterlog.accuracy.appraisal import Appraisal, Observation
from meterlog.accuracy.budget import Budget
from meterlog.accuracy.decision import SIMPLE, DecisionRule
from meterlog.accuracy.limits import Accuracy, Conditions
from meterlog.accuracy.specification import InUse, Range, Shown
from meterlog.accuracy.waveforms import CREST_FACTORS, Response, Waveform, average_over_rms

ADEQUATE_RATIO = 4.0
LEAST_RATIO = 1.0
LEAST_COUNTS = 2.0
UNSURE = "so under the guard band nothing that it reads passes"


class Fit(StrEnum):
    """From good to bad; UNKNOWN where nobody has said what the meter can do."""

    ADEQUATE = "adequate"
    MARGINAL = "marginal"
    NOT_ADEQUATE = "not adequate"
    UNKNOWN = "not known"


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What a step asks of its meter, in base units.

    width  between its limits
    seen   the level in the middle; it is read on the range on which all of the window shows
    about  the level that the limits lie about, where that is another measured one, on the range that shows
           it; one of 0 is as large as `seen`
    alike  both are read by one meter on one range, at one frequency and of one waveform, so that whatever it
           makes of such a signal falls out
    """

    width: float
    seen: Observation
    about: Observation | None = None
    alike: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitness:
    """uncertainty: expanded, 95.45 %, of one result; both it and ratio are None where they cannot be known.

    why       what limits it, in words; empty when it is adequate
    need      the expanded uncertainty that would make it adequate
    accepted  the part of the window in which values pass by the rule, 1 by the limits alone
    mostly    of a computed value: the largest source of its uncertainty
    """

    fit: Fit
    why: str = ""
    range: Range | None = None
    accuracy: Accuracy | None = None
    uncertainty: float | None = None
    ratio: float | None = None
    counts: float | None = None
    need: float | None = None
    accepted: float | None = None
    mostly: str = ""


@dataclass(frozen=True, slots=True)
class Meters:
    """Those of a bench, and under which conditions they are, by the names of their channels."""

    in_use: Mapping[str, InUse]
    conditions: Mapping[str, Conditions]

    def at(self, channel: str) -> Conditions:
        """Those of the statement where nothing else is known."""
        return self.conditions.get(channel, Conditions())


def fitness(task: Task, meters: Meters, rule: DecisionRule = SIMPLE) -> Fitness:
    """Of the meter that reads `task.seen`; KeyError: there is none. The frequency of the task counts,
    whatever the conditions say. rule: how values are judged; where it leaves nothing to pass, or the meter is
    too little known for it, that is not adequate."""
    return _by_rule(_by_limits(task, meters), rule)


def fitness_of_result(
    width: float, budget: Budget, unknown: str = "", rule: DecisionRule = SIMPLE
) -> Fitness:
    """Of a computed value by the budget that is foreseen for it. unknown: why that says too little, if so."""
    if unknown:
        return _by_rule(Fitness(fit=Fit.UNKNOWN, why=unknown), rule)
    mostly = budget.lines[0].source.name if budget.lines else ""
    return _by_rule(replace(_rated(width, budget.expanded_uncertainty), mostly=mostly), rule)


def _by_limits(task: Task, meters: Meters) -> Fitness:
    meter, conditions = meters.in_use[task.seen.channel], meters.at(task.seen.channel)
    capability = meter.capability
    if capability is None:
        return _refused(f"it measures no {meter.function} {meter.coupling}".strip())
    half = task.width / 2.0
    range_ = meter.range_for((task.seen.value - half, task.seen.value + half))
    if range_ is None:
        return _refused("the window lies beyond what it shows")
    counts = task.width / range_.count
    if counts < LEAST_COUNTS * (1.0 - 1e-9):
        return _refused("the window is under two counts", range_, counts)
    if (doubt := _of_waveform(task, meter, range_, counts)) or (worn := outdated(meter, conditions)):
        return doubt or _refused(worn, range_, counts)
    corrected = task.seen.corrected is not None
    hz = meter.stated_at_hz(task.seen.signal, corrected=corrected)
    if hz is not None and not meter.passes(hz) and not task.alike:
        of = "reference frequency of its profile" if corrected else "frequency"
        return _refused(f"the {of} is outside its band", range_, counts)
    accuracy = capability.accuracy_for(range_, conditions._replace(frequency_hz=hz))
    return _by_ratio(task, meters, range_, accuracy)


def _of_waveform(task: Task, meter: InUse, range_: Range, counts: float) -> Fitness | None:
    """What speaks against a waveform that is no sine; None where nothing does."""
    waveform = task.seen.signal.waveform
    if waveform is Waveform.SINE or not meter.is_ac or task.alike:
        return None
    if meter.response is None:
        why = f"nobody has said what it shows of {waveform} (response in its specification)"
        return Fitness(fit=Fit.UNKNOWN, why=why, range=range_, counts=counts)
    if meter.response is Response.AVERAGE:
        off_db = 20.0 * math.log10(average_over_rms(waveform))
        why = f"it averages and shows {waveform} {off_db:+.2f} dB off its rms value; take a true-rms meter"
        return _refused(why, range_, counts)
    most = meter.capability.crest_factor if meter.capability else None
    crest = CREST_FACTORS[waveform]
    if most is not None and crest * abs(task.seen.value) > most * range_.full_scale:
        why = f"its range cuts the crests of {waveform}, {crest:.2g} times the rms; take a higher range"
        return _refused(why, range_, counts)
    return None


def outdated(meter: InUse, conditions: Conditions) -> str:
    """Why what its readings are corrected by may not hold any more; "" where it does."""
    profile, age = meter.profile, conditions.days_since_profile
    if not meter.correct or profile is None or age is None or age <= profile.valid_days:
        return ""
    return f"its profile of {profile.measured} was to hold for {profile.valid_days:g} days; measure it anew"


def _refused(why: str, range_: Range | None = None, counts: float | None = None) -> Fitness:
    return Fitness(fit=Fit.NOT_ADEQUATE, why=why, range=range_, counts=counts)


def _by_ratio(task: Task, meters: Meters, range_: Range, accuracy: Accuracy | None) -> Fitness:
    counts = task.width / range_.count
    if accuracy is None:
        why = "nobody has said how accurate it is there"
        return Fitness(fit=Fit.UNKNOWN, why=why, range=range_, counts=counts)
    found = _rated(task.width, expected_uncertainty(task, meters, range_))
    return replace(found, range=range_, accuracy=accuracy, counts=counts)


def _rated(width: float, uncertainty: float) -> Fitness:
    ratio = width / (2.0 * uncertainty) if uncertainty else None
    return Fitness(
        fit=_of_ratio(ratio),
        why="" if ratio is None or ratio >= ADEQUATE_RATIO else "its own uncertainty is large in the window",
        uncertainty=uncertainty,
        ratio=ratio,
        need=width / (2.0 * ADEQUATE_RATIO),
    )


def _by_rule(found: Fitness, rule: DecisionRule) -> Fitness:
    if found.fit is Fit.UNKNOWN and rule.by_uncertainty:
        return replace(found, fit=Fit.NOT_ADEQUATE, why=f"{found.why}, {UNSURE}")
    if found.uncertainty is None:
        return found
    accepted = 1.0 if found.ratio is None else rule.accepted_part(found.ratio)
    if accepted > 0.0:
        return replace(found, accepted=accepted)
    why = "the guard band leaves nothing of the window to pass"
    return replace(found, accepted=0.0, fit=Fit.NOT_ADEQUATE, why=why)


def expected_uncertainty(task: Task, meters: Meters, range_: Range) -> float:
    """Expanded, of one result by the specifications and the displays alone; as a session's ledger has it,
    what lies about another value as compared with that."""
    appraisal = Appraisal(meters.in_use, meters.conditions)
    number = appraisal.observed(still(task.seen, range_))
    if task.about is not None:
        meter = meters.in_use.get(task.about.channel)
        there = meter.range_of(task.about.indicated, task.about.shown) if meter else None
        other = appraisal.observed(still(task.about, there))
        times = task.seen.value / task.about.value if task.about.value else 1.0
        shares = ((number, 1.0), (other, -times))
        number = appraisal.computed(task.seen.value, shares)
    return appraisal.budget(number).expanded_uncertainty


def still(seen: Observation, range_: Range | None) -> Observation:
    """As it is read on that range where nothing scatters and the display has stood still for long: all that
    the readings leave open is one count."""
    if range_ is None:
        return seen
    factor = seen.corrected.factor if seen.corrected else 1.0
    shown = Shown(range_.full_scale, range_.count)
    return seen._replace(shown=shown, standard_uncertainty=factor * range_.count / math.sqrt(12.0))


def _of_ratio(ratio: float | None) -> Fit:
    if ratio is None or ratio >= ADEQUATE_RATIO:
        return Fit.ADEQUATE
    return Fit.MARGINAL if ratio > LEAST_RATIO else Fit.NOT_ADEQUATE
