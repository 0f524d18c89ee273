"""Whether a meter is good enough for a step, before anything is measured.

The measure is the test uncertainty ratio: the width between the limits over twice the expanded uncertainty
(k = 2) that the meter's specification leaves, NCSLI RP-19. Four and more is the habit of the trade; with less
a guard band eats much of the window, and at one nothing is left of it.
"""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from meterlog.accuracy.decision import SIMPLE, DecisionRule
from meterlog.accuracy.limits import Accuracy, Conditions
from meterlog.accuracy.profile import Deviation
from meterlog.accuracy.specification import InUse, Range
from meterlog.accuracy.waveforms import (
    CREST_FACTORS,
    Response,
    Waveform,
    average_over_rms,
    off_by_distortion,
)

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

    width         between its limits
    value         the level in the middle; the range is that on which all of the window shows
    frequency_hz  of the signal, None where it is DC or not stated
    ratio         it is compared with another reading of the same meter: the error of gain falls out
    waveform, distortion  of the signal; `alike`: the other reading is one of the same waveform
    corrected     what the meter's profile takes out of the reading, where it does; `about`: of the other one
    """

    width: float
    value: float
    frequency_hz: float | None = None
    ratio: bool = False
    waveform: Waveform = Waveform.SINE
    distortion: float = 0.0
    alike: bool = False
    corrected: Deviation | None = None
    about: Deviation | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitness:
    """uncertainty: expanded, k = 2, of one result; both it and ratio are None where they cannot be known.

    why       what limits it, in words; empty when it is adequate
    need      the expanded uncertainty that would make it adequate
    accepted  the part of the window in which values pass by the rule, 1 by the limits alone
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


def fitness(task: Task, meter: InUse, conditions: Conditions, rule: DecisionRule = SIMPLE) -> Fitness:
    """conditions: at the bench; the frequency of the task counts, whatever they say. rule: how values are
    judged; where it leaves nothing to pass, or the meter is too little known for it, that is not adequate."""
    return _by_rule(_by_limits(task, meter, conditions), rule)


def _by_limits(task: Task, meter: InUse, conditions: Conditions) -> Fitness:
    capability = meter.capability
    if capability is None:
        return _refused(f"it measures no {meter.function} {meter.coupling}".strip())
    half = task.width / 2.0
    range_ = meter.range_for((task.value - half, task.value + half))
    if range_ is None:
        return _refused("the window lies beyond what it shows")
    counts = task.width / range_.count
    if counts < LEAST_COUNTS * (1.0 - 1e-9):
        return _refused("the window is under two counts", range_, counts)
    if (doubt := _of_waveform(task, meter, range_, counts)) or (worn := _outdated(meter, conditions)):
        return doubt or _refused(worn, range_, counts)
    hz = meter.profile.reference_hz if meter.profile and task.corrected else task.frequency_hz
    if hz is not None and not meter.passes(hz) and not task.ratio:
        of = "reference frequency of its profile" if task.corrected else "frequency"
        return _refused(f"the {of} is outside its band", range_, counts)
    return _by_ratio(task, meter, conditions._replace(frequency_hz=hz), range_, counts)


def _of_waveform(task: Task, meter: InUse, range_: Range, counts: float) -> Fitness | None:
    """What speaks against a waveform that is no sine; None where nothing does."""
    if task.waveform is Waveform.SINE or not meter.is_ac or (task.ratio and task.alike):
        return None
    if meter.response is None:
        why = f"nobody has said what it shows of {task.waveform} (response in its specification)"
        return Fitness(fit=Fit.UNKNOWN, why=why, range=range_, counts=counts)
    if meter.response is Response.AVERAGE:
        off_db = 20.0 * math.log10(average_over_rms(task.waveform))
        why = (
            f"it averages and shows {task.waveform} {off_db:+.2f} dB off its rms value; take a true-rms meter"
        )
        return _refused(why, range_, counts)
    most = meter.capability.crest_factor if meter.capability else None
    crest = CREST_FACTORS[task.waveform]
    if most is not None and crest * abs(task.value) > most * range_.full_scale:
        why = f"its range cuts the crests of {task.waveform}, {crest:.2g} times the rms; take a higher range"
        return _refused(why, range_, counts)
    return None


def _outdated(meter: InUse, conditions: Conditions) -> str:
    """Why what its readings are corrected by may not hold any more; "" where it does."""
    profile, age = meter.profile, conditions.days_since_profile
    if not meter.correct or profile is None or age is None or age <= profile.valid_days:
        return ""
    return f"its profile of {profile.measured} was to hold for {profile.valid_days:g} days; measure it anew"


def _refused(why: str, range_: Range | None = None, counts: float | None = None) -> Fitness:
    return Fitness(fit=Fit.NOT_ADEQUATE, why=why, range=range_, counts=counts)


def _by_ratio(task: Task, meter: InUse, conditions: Conditions, range_: Range, counts: float) -> Fitness:
    assert meter.capability is not None
    accuracy = meter.capability.accuracy_for(range_, conditions)
    if accuracy is None:
        why = "nobody has said how accurate it is there"
        return Fitness(fit=Fit.UNKNOWN, why=why, range=range_, counts=counts)
    own = expected_uncertainty(task, accuracy, range_, conditions.temperature_c)
    averaged = _of_distortion(task, meter)
    uncertainty = math.hypot(own, 2.0 * _of_profile(task, meter), 2.0 * averaged)
    ratio = task.width / (2.0 * uncertainty) if uncertainty else None
    return Fitness(
        fit=_of_ratio(ratio),
        why="" if ratio is None or ratio >= ADEQUATE_RATIO else "its own uncertainty is large in the window",
        range=range_,
        accuracy=accuracy,
        uncertainty=uncertainty,
        ratio=ratio,
        counts=counts,
        need=task.width / (2.0 * ADEQUATE_RATIO),
    )


def _of_profile(task: Task, meter: InUse) -> float:
    """Standard uncertainty of the correction, of a ratio that of both, base unit."""
    if meter.profile is None or task.corrected is None:
        return 0.0
    about = task.about if task.ratio else None
    in_db = meter.profile.standard_uncertainty_db(task.corrected, about)
    return abs(task.value) * in_db * math.log(10.0) / 20.0


def _of_distortion(task: Task, meter: InUse) -> float:
    """Standard uncertainty that harmonics give a meter which averages, in a ratio twice; base unit."""
    if meter.response is not Response.AVERAGE:
        return 0.0
    one = abs(task.value) * off_by_distortion(task.distortion) / math.sqrt(3.0)
    return math.sqrt(2.0) * one if task.ratio else one


def _by_rule(found: Fitness, rule: DecisionRule) -> Fitness:
    if found.fit is Fit.UNKNOWN and rule.by_uncertainty:
        return replace(found, fit=Fit.NOT_ADEQUATE, why=f"{found.why}, {UNSURE}")
    if found.accuracy is None:
        return found
    accepted = 1.0 if found.ratio is None else rule.accepted_part(found.ratio)
    if accepted > 0.0:
        return replace(found, accepted=accepted)
    why = "the guard band leaves nothing of the window to pass"
    return replace(found, accepted=0.0, fit=Fit.NOT_ADEQUATE, why=why)


def expected_uncertainty(task: Task, accuracy: Accuracy, range_: Range, temperature_c: float | None) -> float:
    """Expanded, k = 2, of one result by the specification and the display alone.

    A ratio of two readings on one range shares the error of gain; that of offset and linearity is counted for
    each of them, as if they had nothing to do with each other.
    """
    limit = accuracy.limit(task.value, range_.full_scale, range_.count, temperature_c)
    offset = accuracy.standard(limit.offset)
    display = range_.count / math.sqrt(12.0)
    if task.ratio:
        return 2.0 * math.sqrt(2.0) * math.hypot(offset, display)
    return 2.0 * math.hypot(accuracy.standard(limit.gain), offset, display)


def _of_ratio(ratio: float | None) -> Fit:
    if ratio is None or ratio >= ADEQUATE_RATIO:
        return Fit.ADEQUATE
    return Fit.MARGINAL if ratio > LEAST_RATIO else Fit.NOT_ADEQUATE
