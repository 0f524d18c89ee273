"""Steps against meters: whether each is good enough for what the step asks, before a session begins."""

from collections.abc import Mapping
from dataclasses import dataclass

from meterlog.accuracy import Conditions, InUse
from meterlog.accuracy.fitness import Fit, Fitness, Task, fitness
from meterlog.procedure.checks.looks import Look, looks, window_of
from meterlog.procedure.checks.units import level_of
from meterlog.procedure.model import Match, Procedure
from meterlog.quantity import Quantity, Unit, readable_scale


@dataclass(frozen=True, slots=True, kw_only=True)
class StepFit:
    """One part of a step that has a window, and how good the meter of its channel is for it.

    level    the middle of the window, None where it is not known before it is measured
    part     which part of the step, "" where it has one
    assumed  the frequency was not stated anywhere and 1 kHz was taken for it
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
    fitness: Fitness


def fits_of(
    procedure: Procedure, meters: Mapping[str, InUse], conditions: Mapping[str, Conditions]
) -> list[StepFit]:
    """In the order of the file; parts without a window ask for nothing and are left out.

    Both mappings go by the names of the channels. One without conditions is at those of its specification.
    """
    return [
        _fit(look, _compares(look, procedure), conditions.get(look.channel, Conditions()))
        for look in looks(procedure, meters)
        if getattr(look.part, "tolerance", None) is not None
    ]


def _fit(look: Look, compares: bool, conditions: Conditions) -> StepFit:
    stated = look.frequency.base if look.frequency else None
    usual_hz = look.meter.usual_hz
    assumed = stated is None and usual_hz is not None
    frequency_hz = (usual_hz if stated is None else stated) if look.meter.bands() else None
    return StepFit(
        step=look.step.id,
        title=look.step.title,
        part=getattr(look.part, "name", "") or "",
        channel=look.channel,
        meter=look.meter.meter,
        unit=look.unit,
        level=look.level,
        frequency_hz=frequency_hz,
        assumed=assumed,
        fitness=_fitness(look, compares, frequency_hz, conditions),
    )


def _fitness(look: Look, compares: bool, frequency_hz: float | None, conditions: Conditions) -> Fitness:
    width = window_of(look)
    if width is None:
        return Fitness(fit=Fit.UNKNOWN, why="how wide its window is hangs on what is measured before")
    task = Task(
        width=width,
        value=look.level.base if look.level else 0.0,
        frequency_hz=frequency_hz,
        ratio=compares,
    )
    return fitness(task, look.meter, conditions)


def _compares(look: Look, procedure: Procedure) -> bool:
    """Two readings of one meter on one range: dB about an earlier step, or two sides on one channel."""
    if isinstance(look.step, Match):
        return len(set(look.step.channels)) == 1
    about = next((one for one in procedure.steps if one.id == getattr(look.part, "reference", None)), None)
    if about is None or look.level is None or about.channels != (look.channel,):
        return False
    before = level_of(about)
    used = [look.meter.range_for((level.base,)) for level in (look.level, before) if level is not None]
    return len(used) == 2 and used[0] == used[1]


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
