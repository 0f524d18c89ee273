"""One reference and two meters: which of the three has moved since they were last compared."""

from enum import StrEnum
from typing import NamedTuple


class Moved(StrEnum):
    NOTHING = "nothing moved"
    A = "meter A moved"
    B = "meter B moved"
    REFERENCE = "the reference moved, or the temperature"
    REPEAT = "not clear: repeat"


class Change(NamedTuple):
    """A difference of two instruments, then and now, in one unit.

    uncertainty  expanded (k = 2), of the change: both comparisons' scatter and last digits. What is the same
                 both times, as the reference's own calibration, cancels and does not belong in it.
    """

    before: float
    now: float
    uncertainty: float

    @property
    def real(self) -> bool:
        """Whether the change is more than its uncertainty explains. ValueError for a negative uncertainty."""
        if not self.uncertainty >= 0.0:
            raise ValueError(f"an uncertainty is not {self.uncertainty}")
        return abs(self.now - self.before) > self.uncertainty


# What each instrument that moves alone does to (A - reference, B - reference, A - B): two differences change,
# the third stays. One change alone, or all three, no single instrument can have made.
_SIGNS = {
    (False, False, False): Moved.NOTHING,
    (True, False, True): Moved.A,
    (False, True, True): Moved.B,
    (True, True, False): Moved.REFERENCE,
}


def which_moved(a: Change, b: Change, between: Change) -> Moved:
    """From A less reference, B less reference and A less B. Common practice, as a check without a second
    reference. Both meters with the same drift look like the reference; so does a warm room."""
    return _SIGNS.get((a.real, b.real, between.real), Moved.REPEAT)
