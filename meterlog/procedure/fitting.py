"""Steps against meters: whether each is good enough for what the step asks, before a session begins."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from meterlog.accuracy import Conditions, Deviation, InUse, Shown, Signal, Waveform
from meterlog.accuracy.appraisal import STATED, Observation
from meterlog.accuracy.fitness import UNSURE, Fit, Fitness, Meters, Task, fitness, fitness_of_result
from meterlog.procedure.checks.looks import Look, beyond_profile, compares, looks, range_of, window_of
from meterlog.procedure.foreseen import Computed, Foresight, correction_of, foreseen
from meterlog.procedure.model import Derived, Match, Procedure
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
    supposed  what the file does not tell and is taken for it, in words; "" where there is no such thing
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
    supposed: str = ""


def fits_of(
    procedure: Procedure, meters: Mapping[str, InUse], conditions: Mapping[str, Conditions]
) -> list[StepFit]:
    """In the order of the file; parts without a window ask for nothing and are left out.

    Both mappings go by the names of the channels. One without conditions is at those of its specification.
    """
    bench = Meters(meters, conditions)
    read = [_fit(look, procedure, bench) for look in looks(procedure, meters) if _is_read(look)]
    if procedure.rule.by_uncertainty:
        read += _of_the_undescribed(procedure, meters)
    order = {step.id: number for number, step in enumerate(procedure.steps)}
    return sorted([*read, *_of_the_computed(procedure, bench)], key=lambda fit: order[fit.step])


def _is_read(look: Look) -> bool:
    """Whether the meter reads what is judged; else that is computed from what it reads."""
    return look.tolerance is not None and not isinstance(look.step, Derived | Match)


def _of_the_computed(procedure: Procedure, bench: Meters) -> Iterator[StepFit]:
    """Those with a window and a described meter among theirs; all under a rule that goes by uncertainty."""
    foresight = Foresight(procedure, bench)
    for step in procedure.steps:
        if not isinstance(step, Derived | Match) or step.tolerance is None:
            continue
        made = foresight.computed(step)
        if made is None or _is_asked(made, procedure, bench):
            yield _fit_of_result(step, made, procedure, bench)


def _is_asked(made: Computed, procedure: Procedure, bench: Meters) -> bool:
    described = not made.channels or any(channel in bench.in_use for channel in made.channels)
    return described or procedure.rule.by_uncertainty


def _fit_of_result(
    step: Derived | Match, made: Computed | None, procedure: Procedure, bench: Meters
) -> StepFit:
    channels = made.channels if made else ()
    meters = dict.fromkeys(bench.in_use[one].meter for one in channels if one in bench.in_use)
    return StepFit(
        step=step.id,
        title=step.title,
        part="",
        channel=", ".join(channels),
        meter=", ".join(meters),
        unit=step.aim.scale.unit,
        level=step.aim,
        frequency_hz=None,
        assumed=False,
        profile="",
        fitness=_fitness_of_result(step, made, procedure),
        supposed=made.supposed if made else "",
    )


def _fitness_of_result(step: Derived | Match, made: Computed | None, procedure: Procedure) -> Fitness:
    if made is None:
        return Fitness(fit=Fit.UNKNOWN, why="how sure it is hangs on what is measured before")
    span = step.agreement if isinstance(step, Match) else step.tolerance
    assert span is not None
    width = span.high(step.aim.base) - span.low(step.aim.base)
    channels = ", ".join(map(repr, made.unknown))
    unknown = f"nobody has said how accurate the meter of {channels} is there" if channels else ""
    return fitness_of_result(width, made.budget, unknown, procedure.rule)


def _of_the_undescribed(procedure: Procedure, meters: Mapping[str, InUse]) -> Iterator[StepFit]:
    """Under a rule that asks how sure a value is, nothing of them passes."""
    why = f"nobody has described it (specification in the bench file), {UNSURE}"
    for read in reads_of(procedure):
        judged = read.tolerance is not None and not isinstance(read.step, Derived | Match)
        if not judged or not read.channel or read.channel in meters:
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
        seen=foreseen(look.channel, value, look.signal, procedure, _correction(look)),
        about=about,
        alike=about is not None and _alike(look, about),
    )


def _about(look: Look, procedure: Procedure, bench: Meters) -> Observation | None:
    """The level that the limits lie about, where it is known and one channel gives it; of a step that looks
    for an extremum, or goes from a stop, that level itself, read at the same channel."""
    if compares(look):
        return foreseen(look.channel, 0.0, look.signal, procedure, _correction(look))
    about = look.about
    if about is None or about.level is None or len(about.channels) != 1:
        return None
    (channel,), value = about.channels, about.level.base
    corrected = correction_of(bench.in_use.get(channel), value, about.signal)
    return foreseen(channel, value, about.signal, procedure, corrected)


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
    has, need = (_two_digits(u, fit) for u in (found.uncertainty, found.need))
    mostly = f" (mostly {found.mostly})" if found.mostly else ""
    remedy = "state closer bounds" if found.mostly == STATED else "take a meter that good there"
    return f"{found.why}{mostly}: ± {has}, where ± {need} would be a quarter of it; {remedy}"


def _two_digits(base: float, fit: StepFit) -> str:
    """An uncertainty, to two significant digits (JCGM 100:2008, 7.2.6); of a ratio on its own scale."""
    scale = readable_scale(base, fit.unit)
    if fit.unit is Unit.NONE and fit.level is not None:
        scale = fit.level.scale
    from_zero = fit.level.base if fit.level is not None and scale.is_level else 0.0
    number = scale.from_base(from_zero + base) - (scale.from_base(from_zero) if from_zero else 0.0)
    return f"{float(f'{number:.2g}'):g} {scale.symbol}"
