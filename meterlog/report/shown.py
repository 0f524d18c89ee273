"""Settled values as text: rounded by their own uncertainty, limits finer than the window they enclose.

A number and its expanded uncertainty end in the same decimal place, two significant digits of the
uncertainty deciding it (JCGM 100:2008, 7.2.6). The uncertainty is rounded up: never shown smaller than it is.

In dB the interval is the value's own, its two ends taken to decibels, so it holds the truth exactly as often
as in volts (JCGM 101:2008, 5.3.4 warns of what is made of it by a slope). Near the noise floor it reaches
further down than up, in the end to nothing: both sides are then written.
"""

import math
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import NamedTuple

from meterlog.procedure.events import SettledValue
from meterlog.quantity import Scale, base_scale, show_number

_DB_PER_RELATIVE = 20.0 / math.log(10.0)
_MOST_DECIMALS_DB = 3  # as `show_number` allows for a level
_MOST_DECIMALS = 9


@dataclass(frozen=True, slots=True)
class Shown:
    """The texts of one settled value. Empty where there is no target or limit.

    unit           of value, target and limits
    distance_unit  of uncertainty and deviation: dB where the unit is a level
    uncertainty    expanded, with its sign: "± 0.021", or "+1.9 -2.4" where the sides differ as written
    deviation      value minus target, signed
    """

    value: str
    uncertainty: str
    unit: str
    distance_unit: str
    target: str
    low: str
    high: str
    deviation: str


class Sides(NamedTuple):
    """How far an interval reaches from its value, both 0 or more; down is infinite for a level that may be
    nothing at all, up for what is divided by something that may be."""

    down: float
    up: float


def shown(settled: SettledValue, scale: Scale) -> Shown:
    """Texts of a settled value on `scale`, or on its base unit where the scale has no number for it."""
    scale = scale_for(settled, scale)
    step = _step(settled, scale)
    return Shown(
        value=show_number(settled.value, scale, step / slope(settled.value, scale)),
        uncertainty=_both(sides(settled, scale), _decimals(step, scale)),
        unit=scale.symbol,
        distance_unit=distance_unit(scale),
        target=_limit(settled.target, settled, scale),
        low=_limit(settled.low, settled, scale),
        high=_limit(settled.high, settled, scale),
        deviation=_deviation(settled, scale, _decimals(step, scale)),
    )


def scale_for(settled: SettledValue, scale: Scale) -> Scale:
    """`scale`, or the base unit's for a level that is zero or less: it has no logarithm."""
    numbers = [settled.value, *(n for n in (settled.target, settled.low, settled.high) if n is not None)]
    return base_scale(settled.unit) if scale.is_level and min(numbers) <= 0.0 else scale


def slope(base: float, scale: Scale) -> float:
    """How many units of `scale` one base unit makes at `base`: the sensitivity of JCGM 100:2008, 5.1.3."""
    return _DB_PER_RELATIVE / base if scale.is_level else scale.from_base(1.0)


def distance_unit(scale: Scale) -> str:
    """The unit of a difference of two values on `scale`."""
    return "dB" if scale.is_level else scale.symbol


def sides(settled: SettledValue, scale: Scale) -> Sides:
    """How far the interval of the expanded uncertainty reaches, in units of `scale`."""
    if settled.lower is not None and settled.upper is not None:
        down, value, up = (scale.from_base(end) for end in (settled.lower, settled.value, settled.upper))
        return Sides(value - down, up - value)
    if not scale.is_level:
        either = settled.expanded_uncertainty * slope(settled.value, scale)
        return Sides(either, either)
    share = settled.expanded_uncertainty / settled.value
    down = -_DB_PER_RELATIVE * math.log1p(-share) if share < 1.0 else math.inf
    return Sides(down, _DB_PER_RELATIVE * math.log1p(share))


def _step(settled: SettledValue, scale: Scale) -> float:
    """Worth of the last decimal, units of `scale`: fine enough for the uncertainty and for the window."""
    steps = [_second_digit(min(sides(settled, scale))), _window_step(settled, scale)]
    fallback = _second_digit(abs(scale.from_base(settled.value))) / 100.0  # four digits
    return min((step for step in steps if step > 0.0), default=fallback)


def _second_digit(number: float) -> float:
    """The worth of the second significant digit of a number after rounding to it; 0 for 0."""
    rounded = float(f"{number:.1e}")
    return float(10.0 ** (math.floor(math.log10(rounded)) - 1)) if 0.0 < rounded < math.inf else 0.0


def _window_step(settled: SettledValue, scale: Scale) -> float:
    """A tenth of half the window; 0 where one of the limits is missing."""
    if settled.low is None or settled.high is None:
        return 0.0
    tenth = (scale.from_base(settled.high) - scale.from_base(settled.low)) / 20.0
    return float(10.0 ** math.floor(math.log10(tenth) + 1e-9)) if tenth > 0.0 else 0.0


def _limit(limit: float | None, settled: SettledValue, scale: Scale) -> str:
    if limit is None:
        return ""
    return show_number(limit, scale, _window_step(settled, scale) / slope(limit, scale))


def _deviation(settled: SettledValue, scale: Scale, decimals: int) -> str:
    if settled.target is None:
        return ""
    away = scale.from_base(settled.value) - scale.from_base(settled.target)
    text = f"{away:+.{decimals}f}"
    return text if float(text) else text[1:]


def _decimals(step: float, scale: Scale) -> int:
    most = _MOST_DECIMALS_DB if scale.is_level else _MOST_DECIMALS
    return min(max(0, math.ceil(-math.log10(step) - 1e-9)) if step else 2, most)


def _both(reach: Sides, decimals: int) -> str:
    down, up = (_rounded_up(side, decimals) for side in reach)
    return f"± {up}" if up == down else f"+{up} -{down}"


def _rounded_up(number: float, decimals: int) -> str:
    # Twelve digits first, so that the 0.030000000000000002 of a float is not taken for more than 0.03.
    if math.isinf(number):
        return "∞"
    place = Decimal(1).scaleb(-decimals)
    return f"{Decimal(f'{number:.12g}').quantize(place, ROUND_CEILING):f}"
