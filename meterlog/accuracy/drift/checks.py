"""One check of a meter against a reference, at one point: how far off, and whether that can be chance."""

import math
from dataclasses import dataclass
from datetime import date

from meterlog.accuracy.decision import Verdict, decide


@dataclass(frozen=True, slots=True)
class Check:
    """What a meter showed of a reference. Values and uncertainties in the base unit of `function`.

    full_scale               the range that was in use
    reference                value of the reference on that day, from its certificate or its own history
    reference_uncertainty    its expanded uncertainty (k = 2)
    indicated                what the meter showed
    indicated_uncertainty    expanded uncertainty (k = 2) of that indication: its scatter and its last digit,
                             not what the meter's maker allows

    ValueError if a number is not finite, an uncertainty negative, or both are zero.
    """

    function: str
    full_scale: float
    reference: float
    reference_uncertainty: float
    indicated: float
    indicated_uncertainty: float
    day: date

    def __post_init__(self) -> None:
        numbers = (self.full_scale, self.reference, self.indicated, *self._uncertainties)
        if not all(map(math.isfinite, numbers)):
            raise ValueError(f"not all of {numbers} are numbers")
        if min(self._uncertainties) < 0.0 or max(self._uncertainties) == 0.0:
            raise ValueError("the reference or the indication needs an uncertainty, and none is negative")

    @property
    def _uncertainties(self) -> tuple[float, float]:
        return self.reference_uncertainty, self.indicated_uncertainty

    @property
    def error(self) -> float:
        """Indicated less reference (JCGM 200:2012, 2.16)."""
        return self.indicated - self.reference

    @property
    def error_uncertainty(self) -> float:
        """Expanded (k = 2): the two uncertainties as independent ones, JCGM 100:2008, 5.1.2."""
        return math.hypot(*self._uncertainties)

    @property
    def normalized_error(self) -> float:
        """E_n = (x - reference) / sqrt(U_x^2 + U_ref^2), ISO/IEC 17043:2010, B.3.1.3, and ISO 13528:2022.

        Beyond -1 or 1 the error is more than the stated uncertainties explain; 1 itself is not beyond.
        """
        return self.error / self.error_uncertainty

    @property
    def explained(self) -> bool:
        """Whether the uncertainties explain the error: |E_n| at most 1."""
        return self.within(self.error_uncertainty) is Verdict.PASS

    def within(self, allowed: float) -> Verdict:
        """Verdict on the error by simple acceptance (`meterlog.accuracy.decision`); `allowed` in the unit of
        the value, both sides of zero, negative is not accepted."""
        if not allowed >= 0.0:
            raise ValueError(f"an allowed error is not {allowed}")
        # Not the error about zero: its last bits are those of the two values it is the difference of.
        return decide(self.indicated, self.reference - allowed, self.reference + allowed)
