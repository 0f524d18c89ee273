"""Power-down steps that would measure no stored charge, and gates that stand before nothing."""

from collections.abc import Iterator

from meterlog.procedure.checks.cautions import HIGH_V
from meterlog.procedure.checks.finding import Finding, warning
from meterlog.procedure.model import PowerDown, Procedure, Safety
from meterlog.procedure.parts import steps_of
from meterlog.procedure.plan import plan_of
from meterlog.quantity import Unit
from meterlog.reading import Coupling

MAY_FOLLOW = ("prepare", "power-down", "sign")
"""Patterns that want nothing of a unit that is switched off."""


def charges(procedure: Procedure) -> Iterator[Finding]:
    """What a charge is measured with, and in what its limit is written."""
    channels = {channel.name: channel for channel in procedure.channels}
    for place, step in steps_of(procedure):
        channel = channels.get(step.channel) if isinstance(step, PowerDown) else None
        if not isinstance(step, PowerDown) or channel is None:
            continue
        if channel.unit is not Unit.VOLT or channel.coupling is Coupling.AC:
            what = "a stored charge is measured as DC voltage: name a channel in V with coupling dc"
            yield Finding((*place, "channel"), what)
        elif step.below.scale.unit is not Unit.VOLT:
            yield Finding((*place, "below"), f"{step.below} is no level of a channel in V")
        elif step.below.scale.is_level:
            yield Finding((*place, "below"), f"{step.below} is no DC voltage; write it in V, such as 10 V")
        elif step.below.base > HIGH_V:
            what = f"{step.below} is above {HIGH_V:g} V: that much stored charge is no end; write less"
            yield Finding((*place, "below"), what)


def switched_off(procedure: Procedure) -> Iterator[Finding]:
    """Steps that would want a unit that is switched off already."""
    off = ""
    for place, step in steps_of(procedure):
        if isinstance(step, PowerDown):
            off = step.id
        elif off and step.pattern not in MAY_FOLLOW:
            what = f"comes after {off!r} switched the unit off; only {', '.join(MAY_FOLLOW)} may"
            yield Finding(place, what)


def gates(procedure: Procedure) -> Iterator[Finding]:
    """Gates that are run behind all the work. One that no pass runs is told of as that."""
    run = {planned.step.id for planned in plan_of(procedure)}
    for number, (place, step) in enumerate(steps_of(procedure)):
        later = procedure.steps[number + 1 :]
        idle = all(other.pattern in ("prepare", "safety", "sign") for other in later)
        if isinstance(step, Safety) and step.id in run and idle:
            yield warning(place, "nothing is done behind this gate; move it before the steps that it is for")
