"""What is computed from two values, and how sure it is."""

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

from meterlog.accuracy import Part, combined, of_bounds
from meterlog.detect import Motion, Settlement
from meterlog.procedure.events import Beside, Origin, SettledValue
from meterlog.quantity import Quantity, Span, Unit

NS = 1e-9
_CENTS_PER_OCTAVE = 1200.0


class Input(NamedTuple):
    """A value in its base unit, and what is known of it. `since_s` is None for what was not measured here.

    origin  which value of the session it is; None for one that the file states
    """

    value: float
    unit: Unit
    standard_uncertainty: float = 0.0
    degrees_of_freedom: float = math.inf
    readings: int = 0
    since_s: float | None = None
    origin: Origin | None = None


class Share(NamedTuple):
    """What an input has in a result: its partial derivative."""

    input: Input
    sensitivity: float


class Result(NamedTuple):
    """What was computed, as sure as its inputs would make it if they had no error in common."""

    settlement: Settlement
    shares: tuple[Share, ...]


def ratio_of(shares: Sequence[Share], value: float) -> tuple[Share, Share] | None:
    """Dividend and divisor of a result that goes up as one input does and down as the other does, share by
    share; None for what is no ratio, or no number."""
    if value == 0.0 or len(shares) != 2:
        return None
    moved = [share.sensitivity * share.input.value / value for share in shares]
    if all(math.isclose(abs(one), 1.0, rel_tol=1e-9) for one in moved) and moved[0] * moved[1] < 0.0:
        one, other = shares
        return (one, other) if moved[0] > 0.0 else (other, one)
    return None


Formula = Callable[[float, float], tuple[float, float, float]]
"""From two values to the result and its two partial derivatives. May raise ArithmeticError or ValueError."""


def formula_for(kind: str, other: Unit, volts_per_octave: float | None = None) -> Formula:
    """Of a kind of `meterlog.procedure.model.derived`; `other` is the unit of the second value."""
    if kind == "power":
        return square_over if other is Unit.OHM else product
    if kind == "cents":
        return cents_of_volts(volts_per_octave) if volts_per_octave else cents
    return _FORMULAS[kind]


def first_for(formula: Formula, result: float, other: float) -> float | None:
    """The first value that gives this result with this second one; None if none is known."""
    try:
        return _FIRSTS[formula](result, other)
    except (ArithmeticError, ValueError, KeyError):
        return None


def input_of(value: SettledValue) -> Input:
    return Input(
        value.value,
        value.unit,
        value.standard_uncertainty,
        value.degrees_of_freedom,
        value.readings,
        value.since_ns * NS,
        value.number,
    )


def input_now(settlement: Settlement, unit: Unit, origin: Beside) -> Input:
    """A level that has settled just now, and is kept as `origin` of this step."""
    assert settlement.value is not None
    assert settlement.standard_uncertainty is not None
    degrees = settlement.degrees_of_freedom or 1.0
    return Input(
        settlement.value,
        unit,
        settlement.standard_uncertainty,
        degrees,
        settlement.readings,
        settlement.since_s,
        origin,
    )


def stated(value: Quantity, bounds: Span | None = None) -> Input:
    """A value that the file states: exact, or anywhere within bounds."""
    half_width = bounds.half_width(value.base) if bounds else 0.0
    return Input(value.base, value.scale.unit, of_bounds(half_width))


def computed(formula: Formula, one: Input, other: Input) -> Result | None:
    """The result of two inputs (JCGM 100:2008, 5.1.2 and G.4.1); None if it has none.

    Which errors they have in common only the session knows; see `meterlog.procedure.ledger`.
    """
    try:
        value, *sensitivities = formula(one.value, other.value)
    except (ArithmeticError, ValueError):
        return None
    parts = [
        Part(sensitivity, each.standard_uncertainty, each.degrees_of_freedom)
        for sensitivity, each in zip(sensitivities, (one, other), strict=True)
    ]
    uncertainty, degrees = combined(parts)
    if not (math.isfinite(value) and math.isfinite(uncertainty)):
        return None
    settlement = Settlement(
        motion=Motion.SETTLED,
        value=value,
        standard_uncertainty=uncertainty,
        degrees_of_freedom=degrees,
        readings=one.readings + other.readings,
        since_s=min((each.since_s for each in (one, other) if each.since_s is not None), default=None),
    )
    return Result(settlement, tuple(map(Share, (one, other), sensitivities)))


def quotient(x: float, y: float) -> tuple[float, float, float]:
    return x / y, 1.0 / y, -x / y**2


def product(x: float, y: float) -> tuple[float, float, float]:
    return x * y, y, x


def square_over(x: float, y: float) -> tuple[float, float, float]:
    return x * x / y, 2.0 * x / y, -((x / y) ** 2)


def difference(x: float, y: float) -> tuple[float, float, float]:
    return x - y, 1.0, -1.0


def deviation(x: float, y: float) -> tuple[float, float, float]:
    """Of x from y, as a share of y without its sign."""
    size = abs(y)
    return (x - y) / size, 1.0 / size, -x * y / size**3


def gain(x: float, y: float) -> tuple[float, float, float]:
    """Of x over y, whatever their signs; no gain where one of them is nothing."""
    ratio = abs(x / y)
    return ratio, ratio / x, -ratio / y


def reduction(x: float, y: float) -> tuple[float, float, float]:
    """How much less x is than y."""
    ratio, by_y, by_x = gain(y, x)
    return ratio, by_x, by_y


def cents(x: float, y: float) -> tuple[float, float, float]:
    """Interval of two frequencies: 1200 to the octave."""
    slope = _CENTS_PER_OCTAVE / math.log(2.0)
    return _CENTS_PER_OCTAVE * (math.log2(x) - math.log2(y)), slope / x, -slope / y


def cents_of_volts(volts_per_octave: float) -> Formula:
    """Interval of the pitches that two voltages stand for."""
    slope = _CENTS_PER_OCTAVE / volts_per_octave
    return lambda x, y: (slope * (x - y), slope, -slope)


_FORMULAS: dict[str, Formula] = {
    "current": quotient,
    "percent": quotient,
    "deviation": deviation,
    "gain": gain,
    "gain-reduction": reduction,
    "difference": difference,
}
_FIRSTS: dict[Formula, Callable[[float, float], float]] = {
    quotient: lambda result, y: result * y,
    product: lambda result, y: result / y,
    square_over: lambda result, y: math.sqrt(result * y),
    difference: lambda result, y: result + y,
    deviation: lambda result, y: y + result * abs(y),
    gain: lambda result, y: result * y,
    reduction: lambda result, y: y / result,
    cents: lambda result, y: y * 2.0 ** (result / _CENTS_PER_OCTAVE),
}
