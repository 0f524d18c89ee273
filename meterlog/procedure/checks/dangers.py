"""Power-down steps that would measure no stored charge, and guards that would trip because of them."""

from collections.abc import Iterator

from meterlog.files import Location
from meterlog.procedure.checks.finding import Finding, steps_of
from meterlog.procedure.model import PowerDown, Procedure
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


def switched_off(procedure: Procedure) -> Iterator[Finding]:
    """Steps that would want a unit that is switched off already."""
    off = ""
    for place, step in steps_of(procedure):
        if isinstance(step, PowerDown):
            off = step.id
        elif off and step.pattern not in MAY_FOLLOW:
            what = f"comes after {off!r} switched the unit off; only {', '.join(MAY_FOLLOW)} may"
            yield Finding(place, what)


def guards_at_the_end(procedure: Procedure) -> Iterator[Finding]:
    """A lower limit above 0 is passed when the unit is switched off."""
    order = {step.id: number for number, step in enumerate(procedure.steps)}
    for index, guard in enumerate(procedure.guards):
        first, last = order.get(guard.from_step or "", 0), order.get(guard.to_step or "", len(order))
        off = next((s for s in procedure.steps[first : last + 1] if isinstance(s, PowerDown)), None)
        if guard.never_below is not None and guard.never_below.base >= 0.0 and off is not None:
            place: Location = ("guard", index, "never_below")
            what = f"would trip when {off.id!r} switches the unit off; end it with to_step at an earlier step"
            yield Finding(place, what)
