"""Which way a level came: backlash sits on the right side only after a way from the extremum's side.

Levels here are signed so that the extremum lies high and the target low, for a minimum upside down.
"""

import math

_TURNED_BACK = 0.5  # tolerances
_RISE_SPREADS, _BEYOND_SPREADS = 4.0, 2.0
"""What counts must also be so many standard deviations of the readings."""


class Approach:
    """Whether the last movement that can be told from noise went away from the extremum.

    above    a level so high is on the extremum's side: from there the hand comes again
    beyond   a level so low is too far

    A trimmer's slack is taken up once the level follows the hand. Whoever comes back from too far has it
    on the wrong side until the level has been above and has come down again. A turn back that is less than
    what the readings' scatter hides is not seen.
    """

    def __init__(self, above: float, beyond: float, tolerance: float) -> None:
        self._above, self._beyond = above, beyond
        self._turned_back = _TURNED_BACK * tolerance
        self._lowest = math.inf
        self.sound = True

    def see(self, level: float, spread: float = 0.0) -> None:
        """`level`: from readings that agree, `spread` their standard deviation; 0 for a settled mean."""
        if level >= self._above:
            self.sound, self._lowest = True, level
        self._lowest = min(self._lowest, level)
        too_far = level < self._beyond - _BEYOND_SPREADS * spread
        if too_far or level - self._lowest > max(self._turned_back, _RISE_SPREADS * spread):
            self.sound = False
