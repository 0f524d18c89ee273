"""Steps against meters: whether each is good enough for what the step asks, before a session begins."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from meterlog.accuracy import Conditions, Deviation, InUse, Shown, Signal, Waveform
from meterlog.accuracy.appraisal import Observation
from meterlog.accuracy.fitness import UNSURE, Fit, Fitness, Meters, Task, fitness
from meterlog.procedure.checks.looks import Look, beyond_profile, compares, looks, range_of, window_of
from meterlog.procedure.model import Procedure
from meterlog.procedure.signals import name_of, reads_of
from meterlog.quantity import Quantity, Unit, readable_scale


@dataclass(frozen=True, slots=True, kw_only=True)
class StepFit:
    """One part of a step that has a window, and how good the meter of its channel is for it.

    meter    "" where nobody has described it
    level    the middle of the window, None where it is not known before it is measured
    part     which part of the step, "" where it has one
    assumed  the frequency was not stated anywhere and 1 kHz was taken for it
    profile  what the meter's own profile says and does there, in words; "" where it has none
    """

    step: str
    title: str
    part: str
    channel: str
    meter: str
    unit: Unit
    level: Quantity | None
    frequency_hz: float | None
    assumed: bool
    profile: str
    fitness: Fitness


def fits_of(
    procedure: Procedure, meters: Mapping[str, InUse], conditions: Mapping[str, Conditions]
) -> list[StepFit]:
    """In the order of the file; parts without a window ask for nothing and are left out.

    Both mappings go by the names of the channels. One without conditions is at those of its specification.
    """
    bench = Meters(meters, conditions)
    known = [_fit(look, procedure, bench) for look in looks(procedure, meters) if look.tolerance is not None]
    return [*known, *_of_the_undescribed(procedure, meters)] if procedure.rule.by_uncertainty else known


def _of_the_undescribed(procedure: Procedure, meters: Mapping[str, InUse]) -> Iterator[StepFit]:
    """Under a rule that asks how sure a value is, nothing of them passes."""
    why = f"nobody has described it (specification in the bench file), {UNSURE}"
    for read in reads_of(procedure):
        if not read.channel or read.channel in meters or read.tolerance is None:
            continue
        yield StepFit(
            step=read.step.id,
            title=read.step.title,
            part=name_of(read.part),
            channel=read.channel,
            meter="",
            unit=procedure.channel(read.channel).unit,
            level=None,
            frequency_hz=read.frequency.base if read.frequency else None,
            assumed=False,
            profile="",
            fitness=Fitness(fit=Fit.NOT_ADEQUATE, why=why),
        )


def _fit(look: Look, procedure: Procedure, bench: Meters) -> StepFit:
    stated = look.frequency.base if look.frequency else None
    usual_hz = look.meter.usual_hz
    assumed = stated is None and usual_hz is not None
    frequency_hz = (usual_hz if stated is None else stated) if look.meter.bands() else None
    corrected = _correction(look)
    return StepFit(
        step=look.step.id,
        title=look.step.title,
        part=name_of(look.part),
        channel=look.channel,
        meter=look.meter.meter,
        unit=look.unit,
        level=look.level,
        frequency_hz=frequency_hz,
        assumed=assumed,
        profile=_profile_words(look.meter, look.signal, corrected),
        fitness=_fitness(look, frequency_hz, procedure, bench),
    )


def _correction(look: Look) -> Deviation | None:
    """As far as the range can be told before anything is read."""
    range_ = range_of(look)
    return look.meter.correction(look.signal, Shown(range_.full_scale)) if range_ else None


def _profile_words(meter: InUse, signal: Signal, corrected: Deviation | None) -> str:
    if meter.profile is None:
        return ""
    of = f"profile of {meter.profile.measured}"
    if corrected:
        return f"corrected by {0.0 - corrected.db:+.2f} dB, {of}"
    there = meter.profile.deviation(signal.frequency_hz) if signal.frequency_hz else None
    if not meter.correct:
        return f"{there.db:+.2f} dB by the {of}, not corrected" if there else ""
    return f"not corrected: {_why_not_corrected(signal, of, reaches=there is not None)}"


def _why_not_corrected(signal: Signal, of: str, *, reaches: bool) -> str:
    if signal.waveform is not Waveform.SINE:
        return f"{signal.waveform} has no one frequency"
    if signal.frequency_hz is None:
        return "no frequency is stated"
    return f"the {of} is of another range" if reaches else f"outside the {of}"


def _fitness(look: Look, frequency_hz: float | None, procedure: Procedure, bench: Meters) -> Fitness:
    if beyond_profile(look) and not compares(look):
        return Fitness(fit=Fit.NOT_ADEQUATE, why="the profile that corrects it does not reach the frequency")
    width = window_of(look)
    if width is None:
        return _of_unknown_level(look, frequency_hz)
    return fitness(_task(look, width, procedure, bench), bench, procedure.rule)


def _task(look: Look, width: float, procedure: Procedure, bench: Meters) -> Task:
    value = look.level.base if look.level else 0.0
    about = _about(look, procedure, bench)
    return Task(
        width=width,
        seen=_foreseen(look.channel, value, look.signal, procedure, _correction(look)),
        about=about,
        alike=about is not None and _alike(look, about),
    )


def _foreseen(
    channel: str, value: float, signal: Signal, procedure: Procedure, corrected: Deviation | None
) -> Observation:
    """A level that no readings support yet."""
    return Observation(
        channel, value, 0.0, math.inf, signal, procedure.source_ohm(channel), corrected=corrected
    )


def _about(look: Look, procedure: Procedure, bench: Meters) -> Observation | None:
    """The level that the limits lie about, where it is known and one channel gives it; of a step that looks
    for an extremum, or goes from a stop, that level itself, read at the same channel."""
    if compares(look):
        return _foreseen(look.channel, 0.0, look.signal, procedure, _correction(look))
    about = look.about
    if about is None or about.level is None or len(about.channels) != 1:
        return None
    (channel,), value = about.channels, about.level.base
    corrected = _correction_of(bench.in_use.get(channel), value, about.signal)
    return _foreseen(channel, value, about.signal, procedure, corrected)


def _correction_of(meter: InUse | None, value: float, signal: Signal) -> Deviation | None:
    range_ = meter.range_for((value,)) if meter else None
    return meter.correction(signal, Shown(range_.full_scale)) if meter and range_ else None


def _of_unknown_level(look: Look, frequency_hz: float | None) -> Fitness:
    """Of one about a level at another frequency, a meter that does not read it is too poor whatever it is."""
    apart = look.about is not None and not _one_response(look, look.about.signal)
    if apart and frequency_hz is not None and not look.meter.correct and not look.meter.passes(frequency_hz):
        return Fitness(fit=Fit.NOT_ADEQUATE, why="the frequency is outside its band")
    return Fitness(fit=Fit.UNKNOWN, why="how wide its window is hangs on what is measured before")


def _alike(look: Look, about: Observation) -> bool:
    """Whether what the meter makes of such a signal is in both readings and falls out."""
    level = look.level.base if look.level else 0.0
    here, there = (look.meter.range_for((value,)) for value in (level, about.value))
    one_meter = about.channel == look.channel and here == there
    one_waveform = about.signal.waveform is look.signal.waveform
    return one_meter and one_waveform and _one_response(look, about.signal)


def _one_response(look: Look, other: Signal) -> bool:
    """At one frequency; at two only where the meter's own profile takes its response out of both."""
    signals = (look.signal, other)
    here, there = (look.meter.usual_hz if one.frequency_hz is None else one.frequency_hz for one in signals)
    return here == there or all(_correction(look._replace(signal=one)) for one in signals)


def unfit_words(fit: StepFit) -> str:
    """Why a meter is not quite good enough, and what would help; "" where there is nothing to say."""
    found = fit.fitness
    if found.uncertainty is None or found.need is None or found.fit is Fit.ADEQUATE:
        return found.why
    has, need = (_two_digits(u, fit.unit) for u in (found.uncertainty, found.need))
    return f"{found.why}: ± {has}, where ± {need} would be a quarter of it; take a meter that good there"


def _two_digits(base: float, unit: Unit) -> str:
    """An uncertainty, to two significant digits (JCGM 100:2008, 7.2.6)."""
    scale = readable_scale(base, unit)
    return f"{float(f'{scale.from_base(base):.2g}'):g} {scale.symbol}"
