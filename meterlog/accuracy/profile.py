"""A meter's own frequency response, measured on a day, to be taken out of its readings on request.

A profile says by how much a meter is off at a frequency, as against one reference frequency: there its
maker's figures hold. Between two rows the deviation is a straight line over the logarithm of the frequency.
How far the true curve may lie from it is Newton's remainder of linear interpolation (any text on numerical
analysis), its second divided difference taken as twice the larger of those that the neighbouring rows show.
Beyond the rows nothing is said.
"""

import math
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import NamedTuple

from meterlog.accuracy.band import Band
from meterlog.reading import Coupling

CURVATURE = 2.0
"""How many times the curvature that the neighbours show is allowed for (a choice of ours)."""
_AT_A_ROW = 1e-9


class ProfileRow(NamedTuple):
    """deviation_db: shown over what is there, less the same at the reference frequency."""

    frequency_hz: float
    deviation_db: float
    standard_uncertainty_db: float


class Deviation(NamedTuple):
    """How far a reading lies from the level at one frequency.

    shares       the rows that it rests on, by their place, each with its weight: their errors are its errors
    between_db   half-width of what the straight line between them may be off
    """

    frequency_hz: float
    db: float
    shares: tuple[tuple[int, float], ...]
    between_db: float

    @property
    def factor(self) -> float:
        """From a reading to the level."""
        return float(10.0 ** (-self.db / 20.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """Rows go upwards in frequency, three at least, one of them at `reference_hz` with no deviation.

    full_scale  of the range that it was measured on, and holds for
    against     what it was measured against, for the reader
    valid_days  after `measured`
    """

    meter: str
    serial_number: str
    function: str
    coupling: Coupling
    full_scale: float
    measured: date
    valid_days: float
    against: str
    reference_hz: float
    rows: tuple[ProfileRow, ...]

    @property
    def band(self) -> Band:
        return Band(self.rows[0].frequency_hz, self.rows[-1].frequency_hz)

    def deviation(self, frequency_hz: float) -> Deviation | None:
        """None outside the rows."""
        at = math.log(frequency_hz)
        places = [math.log(row.frequency_hz) for row in self.rows]
        for place, place_at in enumerate(places):
            if abs(at - place_at) < _AT_A_ROW:
                return Deviation(frequency_hz, self.rows[place].deviation_db, ((place, 1.0),), 0.0)
        for place, (low, high) in enumerate(pairwise(places)):
            if low < at < high:
                share = (at - low) / (high - low)
                one, other = self.rows[place], self.rows[place + 1]
                db = (1.0 - share) * one.deviation_db + share * other.deviation_db
                between = CURVATURE * self._bend(places, place) * (at - low) * (high - at)
                return Deviation(frequency_hz, db, ((place, 1.0 - share), (place + 1, share)), between)
        return None

    def standard_uncertainty_db(self, found: Deviation, about: Deviation | None = None) -> float:
        """Of a deviation, or of how far it is from another one: what both rest on falls out."""
        if about is not None and about.frequency_hz == found.frequency_hz:
            return 0.0
        weights = dict(found.shares)
        for place, weight in about.shares if about else ():
            weights[place] = weights.get(place, 0.0) - weight
        rows = [weight * self.rows[place].standard_uncertainty_db for place, weight in weights.items()]
        between = [one.between_db / math.sqrt(3.0) for one in (found, about) if one]
        return math.hypot(*rows, *between)

    def _bend(self, places: list[float], place: int) -> float:
        """The larger second divided difference about the interval that begins at a row, dB."""
        levels = [row.deviation_db for row in self.rows]
        firsts = [(levels[n + 1] - levels[n]) / (places[n + 1] - places[n]) for n in range(len(levels) - 1)]
        seconds = [
            abs(firsts[n + 1] - firsts[n]) / (places[n + 2] - places[n]) for n in range(len(firsts) - 1)
        ]
        return max(seconds[max(0, place - 1) : place + 1])
