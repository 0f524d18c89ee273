"""How sure a result is, source by source, after the GUM. The propagation is that of the library GTC.

A number made here carries every source of its uncertainty with it, and arithmetic on such numbers keeps
them apart. So an error that two values share (one meter, one range: the error of its gain) falls out of their
ratio by itself, and adds up where it should. Correlation asks for no more than using a source twice.
"""

import math
from dataclasses import dataclass
from typing import Any, TypeAlias

from meterlog.accuracy.coverage import factor_of_sum
from meterlog.accuracy.spread import DIVISORS, Shape, Spread

Uncertain: TypeAlias = Any
"""A real number of GTC; plain numbers mix with it."""


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
        return cls(name, half_width / DIVISORS[shape], shape)


@dataclass(frozen=True, slots=True)
class Line:
    """contribution = |sensitivity| * standard uncertainty, in the unit of the result."""

    source: Source
    sensitivity: float
    contribution: float

    @property
    def spread(self) -> Spread:
        return Spread(self.source.shape, self.contribution)


@dataclass(frozen=True, slots=True)
class Budget:
    """Lines come largest first. The coverage factor is for 95.45 %, whatever the shapes."""

    value: float
    lines: tuple[Line, ...]
    standard_uncertainty: float
    degrees_of_freedom: float
    coverage_factor: float

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

    def standard_uncertainty(self, number: Uncertain) -> float:
        return float(self._gtc.uncertainty(number))

    def budget(self, result: Uncertain) -> Budget:
        """Of a number made of these sources."""
        lines = tuple(
            _line(self._known[one.uid], one.u) for one in self._gtc.rp.budget(result, trim=0) if one.u > 0.0
        )
        standard = self.standard_uncertainty(result)
        degrees = float(self._gtc.dof(result)) if standard else math.inf
        factor = factor_of_sum([line.spread for line in lines], degrees)
        return Budget(float(self._gtc.value(result)), lines, standard, degrees, factor)


def _line(source: Source, contribution: float) -> Line:
    return Line(source, contribution / source.standard_uncertainty, contribution)
