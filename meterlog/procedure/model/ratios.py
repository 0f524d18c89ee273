"""Targets and tolerances of values that no channel gives, put on the scale these values are shown in.

A file writes "3 dB" and "2 %" everywhere alike. Of a value that is a ratio the first is a level of the ratio
itself, and the second two hundredths: not two hundredths of the value.
"""

from meterlog.quantity import (
    GAIN,
    HUNDREDTH,
    Offset,
    Quantity,
    Scale,
    Span,
    Unit,
    ratio_from_db,
)


def level_on(scale: Scale, target: Quantity | Offset | None) -> Quantity | Offset | None:
    """The target as a ratio where `scale` shows ratios; otherwise as it is."""
    if scale.unit is not Unit.NONE:
        return target
    if isinstance(target, Offset):
        return Quantity(ratio_from_db(target.db), GAIN)
    if target is not None and target.scale.unit is Unit.PERCENT:
        return Quantity(HUNDREDTH.to_base(target.base), HUNDREDTH)
    return target


def span_on(scale: Scale, span: Span | None) -> Span | None:
    """A distance in % as hundredths where `scale` shows ratios as such; otherwise as it is."""
    shows_parts = scale.unit is Unit.NONE and not scale.is_level
    if span is None or span.kind != "%" or not shows_parts:
        return span
    return Span(HUNDREDTH.to_base(span.amount), Unit.NONE, HUNDREDTH)
