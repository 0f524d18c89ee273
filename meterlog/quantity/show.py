"""Measured values as text: as many digits as the meter has earned, no more."""

import math

from meterlog.quantity.scales import Scale
from meterlog.quantity.spans import Span

_DB_PER_NEPER = 20.0 / math.log(10.0)  # 8.686: a small relative change, in dB
_FINEST_STEP = 1e-9
_FINEST_STEP_DB = 1e-3  # 0.012 %, finer than the meters of this trade


def show(base: float, scale: Scale, resolution: float = 0.0) -> str:
    """A base value on a scale, with symbol and reference: "+4.00 dBu", "12.3 mV", "-inf dBu" for nothing.

    resolution is one count of the meter in the base unit and decides the decimals; where it is 0.0,
    unknown, four significant digits are shown, and two decimals of a level.
    """
    return f"{show_number(base, scale, resolution)} {scale.symbol}".rstrip() + scale.bracket


def show_number(base: float, scale: Scale, resolution: float = 0.0) -> str:
    """The digits alone, for places where symbol and reference stand apart."""
    shown = scale.from_base(base)
    if not math.isfinite(shown):
        return str(shown)
    decimals = _level_decimals if scale.is_level else _linear_decimals
    return _fixed(shown, decimals(base, scale, resolution), signed=scale.is_level)


def show_deviation(span: Span, value: float, target: float) -> str:
    """How far value is from target, signed, to about a tenth of the span's first digit: "+0.12 dB"."""
    away = span.deviation(value, target)
    scale = span.shown_scale
    if not math.isfinite(away):
        return f"{away:+} {scale.symbol}"
    step = scale.from_base(span.amount) / 10.0
    return f"{_fixed(away, _decimals(step or 0.01), signed=True)} {scale.symbol}"


def _level_decimals(base: float, _scale: Scale, resolution: float) -> int:
    step_db = resolution * _DB_PER_NEPER / base if resolution else 0.01
    # The nearest decade, not the next finer: a count of 0.02 dB earns no third decimal.
    return round(-math.log10(min(max(step_db, _FINEST_STEP_DB), 1.0)))


def _linear_decimals(base: float, scale: Scale, resolution: float) -> int:
    step = scale.from_base(resolution) if resolution else _fourth_digit(scale.from_base(base))
    return _decimals(step)


def _fourth_digit(shown: float) -> float:
    """The worth of the fourth significant digit, after rounding to it."""
    rounded = abs(float(f"{shown:.4g}")) or 1.0
    return float(10.0 ** (math.floor(math.log10(rounded)) - 3))


def _decimals(step: float) -> int:
    """Decimals that show one step; the hair is for steps such as 0.001, which no float holds."""
    return math.ceil(-math.log10(min(max(step, _FINEST_STEP), 1.0)) - 1e-9)


def _fixed(number: float, decimals: int, *, signed: bool) -> str:
    text = f"{number:+.{decimals}f}"
    if float(text) == 0.0:
        return text[1:]  # nothing has no sign
    return text if signed else text.removeprefix("+")
