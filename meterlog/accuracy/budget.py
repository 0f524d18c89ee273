"""How sure a result is, source by source, after the GUM. The propagation is that of the library GTC.

A number made here carries every source of its uncertainty with it, and arithmetic on such numbers keeps
them apart. So an error that two values share (one meter, one range: the error of its gain) falls out of their
ratio by itself, and adds up where it should. Correlation asks for no more than using a source twice.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, TypeAlias

from meterlog.accuracy.coverage import coverage_factor

Uncertain: TypeAlias = Any
"""A real number of GTC; plain numbers mix with it."""


class Shape(StrEnum):
    """How the possible values of a source are spread (JCGM 100:2008, 4.3 and G.5.3; EA-4/02, 3)."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    ARCSINE = "arcsine"


_DIVISORS = {
    Shape.RECTANGULAR: math.sqrt(3.0),
    Shape.TRIANGULAR: math.sqrt(6.0),
    Shape.ARCSINE: math.sqrt(2.0),
}


@dataclass(frozen=True, slots=True)
class Source:
    """One source of uncertainty. degrees_of_freedom: how well the uncertainty itself is known."""

    name: str
    standard_uncertainty: float
    shape: Shape = Shape.NORMAL
    degrees_of_freedom: float = math.inf

    @classmethod
    def within(cls, name: str, half_width: float, shape: Shape = Shape.RECTANGULAR) -> "Source":
        """Bounds that are taken as known. KeyError for a normal one, which has none."""
        return cls(name, half_width / _DIVISORS[shape], shape)


@dataclass(frozen=True, slots=True)
class Line:
    """contribution = |sensitivity| * standard uncertainty, in the unit of the result."""

    source: Source
    sensitivity: float
    contribution: float


@dataclass(frozen=True, slots=True)
class Budget:
    """Lines come largest first. `probability` is what the coverage factor stands for, 0.9545 or 0.95."""

    value: float
    lines: tuple[Line, ...]
    standard_uncertainty: float
    degrees_of_freedom: float
    coverage_factor: float
    probability: float

    @property
    def expanded_uncertainty(self) -> float:
        return self.coverage_factor * self.standard_uncertainty


class Sources:
    """Makes uncertain numbers and tells what became of their sources. One for a session, or a calculation."""

    def __init__(self) -> None:
        import GTC  # noqa: PLC0415 - over a second, and only who asks how sure a result is needs it

        self._gtc = GTC
        self._known: dict[Any, Source] = {}

    def number(self, value: float, source: Source) -> Uncertain:
        """`value` with this source. Called once for each error: a number used twice is the same error."""
        made = self._gtc.ureal(value, source.standard_uncertainty, source.degrees_of_freedom)
        if source.standard_uncertainty > 0.0:
            self._known[made.uid] = source
        return made

    def value_of(self, number: Uncertain) -> float:
        return float(self._gtc.value(number))

    def budget(self, result: Uncertain) -> Budget:
        """Of a number made of these sources."""
        lines = tuple(
            _line(self._known[one.uid], one.u) for one in self._gtc.rp.budget(result, trim=0) if one.u > 0.0
        )
        standard = float(self._gtc.uncertainty(result))
        degrees = float(self._gtc.dof(result)) if standard else math.inf
        factor, probability = coverage(lines, degrees)
        return Budget(float(self._gtc.value(result)), lines, standard, degrees, factor, probability)


def _line(source: Source, contribution: float) -> Line:
    return Line(source, contribution / source.standard_uncertainty, contribution)


def coverage(lines: tuple[Line, ...], degrees_of_freedom: float) -> tuple[float, float]:
    """Coverage factor and what it covers. One rectangular source that outweighs all others has no tails: 1.65
    times its standard uncertainty is 95 % of it, and 2 would lie beyond its bounds (EA-4/02, S9.14).
    """
    if lines and lines[0].source.shape is Shape.RECTANGULAR:
        others = math.hypot(*(line.contribution for line in lines[1:]))
        if others <= DOMINANCE * lines[0].contribution:
            return 0.95 * math.sqrt(3.0), 0.95
    return coverage_factor(degrees_of_freedom), 0.9545


DOMINANCE = 0.3
"""A source outweighs the others if these come to no more than 0.3 of it (EA-4/02 M:2013, from memory)."""
