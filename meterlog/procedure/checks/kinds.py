"""Kinds of level that do not go together (direct, alternating); frequencies; windows down to nothing."""

from collections.abc import Iterator

from meterlog.procedure.checks.finding import Finding, all_parts, warning
from meterlog.procedure.model import Channel, Procedure
from meterlog.procedure.model.base import Table
from meterlog.quantity import Quantity, Unit
from meterlog.reading import Coupling

WHOLE = 100.0


def levels(procedure: Procedure) -> Iterator[Finding]:
    """dBu, dBV, dBm, VU and dBFS are of alternating voltage; so is a ratio of two of them."""
    channels = {channel.name: channel for channel in procedure.channels}
    ids = {step.id: step for step in procedure.steps}
    for place, part in all_parts(procedure):
        channel = channels.get(getattr(part, "channel", None) or "")
        target, about = getattr(part, "target", None), ids.get(getattr(part, "reference", None) or "")
        if channel is None:
            continue
        if channel.coupling is Coupling.DC and isinstance(target, Quantity) and target.scale.is_level:
            what = f"{target} is a level of alternating voltage, and {channel.name!r} is DC; write it in V"
            yield warning((*place, "target"), what)
        if about is not None and _differs(channel, [channels.get(name) for name in about.channels]):
            what = f"step {about.id!r} is not read with coupling {channel.coupling}, as {channel.name!r} is"
            yield warning((*place, "reference"), what)


def _differs(channel: Channel, others: list[Channel | None]) -> bool:
    known = {other.coupling for other in others if other is not None}
    return bool(known) and not known & {channel.coupling, Coupling.NONE} and channel.coupling != Coupling.NONE


def frequencies(procedure: Procedure) -> Iterator[Finding]:
    for place, part in all_parts(procedure):
        frequency = getattr(part, "frequency", None)
        if frequency is not None and not (frequency.scale.unit is Unit.HERTZ and frequency.base > 0.0):
            yield Finding((*place, "frequency"), f"{frequency} is no frequency; write one such as 1 kHz")
        distortion = getattr(part, "distortion", None)
        if distortion is not None and (distortion.kind != "%" or distortion.amount > WHOLE):
            yield Finding(
                (*place, "distortion"), f"{distortion} is no distortion; write it in %, such as 0.5 %"
            )


def whole(procedure: Procedure) -> Iterator[Finding]:
    """Distances that reach down to nothing."""
    for place, part in all_parts(procedure):
        for field, judge in (("tolerance", warning), ("resistor_tolerance", Finding)):
            if _reaches_nothing(part, field):
                what = f"{getattr(part, field)} reaches down to nothing; write less than {WHOLE:g} %"
                yield judge((*place, field), what)


def _reaches_nothing(part: Table, field: str) -> bool:
    span = getattr(part, field, None)
    return span is not None and span.kind == "%" and span.amount >= WHOLE
