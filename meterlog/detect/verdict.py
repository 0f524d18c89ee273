"""What the detectors say. Shared by all of them, so that the engine and replay speak one language.

Every detector is streaming and pure: ``update(time_s, value, state, resolution=..., range_max=...)``
returns its verdict on everything seen so far. `time_s` is when the reading was taken, in seconds on the
session's own monotonic time line; `value` is in the base unit and None unless `state` is State.OK;
`resolution` is one count of the display (0.0 unknown). Constant memory; no clock, no randomness: the
same readings give the same verdicts to the last bit, live and in replay.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from meterlog.reading import State

Tolerance = Callable[[float], float]
"""Half-width in base units at a value in base units, e.g. `meterlog.quantity.Span.half_width`."""


class Motion(StrEnum):
    """What the signal is doing."""

    WAITING = "waiting"
    MOVING = "moving"
    SETTLING = "settling"
    SETTLED = "settled"


class Reason(StrEnum):
    """Why it is not settled."""

    MOVING = "moving"
    DRIFTING = "drifting"
    NOISY = "too noisy"
    OSCILLATING = "oscillating"
    FEW_COUNTS = "too few counts"
    OVERLOAD = "overload"
    NO_VALUE = "no value"
    HELD = "held display"
    SILENT = "silent"


class Settlement(NamedTuple):
    """Verdict of `Settled`.

    value                 best estimate of the level now, base unit; None while waiting
    standard_uncertainty  of that value, never below one count / sqrt(12)
    degrees_of_freedom    effective, from the autocorrelation-corrected number of readings
    rate_per_s            present slope, base unit per second
    spread                standard deviation of the readings about the window's fit
    since_s               time of the oldest reading that supports the value
    readings              number of distinct readings that support it
    reason                why it is not settled; None when it is. `meterlog.detect.explain` puts it in words
    tolerance             half-width it was judged by, base unit
    resolution            one count of the display, base unit; 0.0 unknown
    for_s                 how long it has been still or silent, where that is the reason
    period_s              of an oscillation
    settles_in_s          when it will be settled if it goes on as it does; None where nobody can tell
    wild                  single wild readings dropped since the detector began
    revised               True once when a value announced as settled has proven wrong
    range_max             full scale of the range that it was read on, None where the meter does not say
    """

    motion: Motion
    value: float | None = None
    standard_uncertainty: float | None = None
    degrees_of_freedom: float | None = None
    rate_per_s: float | None = None
    spread: float | None = None
    since_s: float | None = None
    readings: int = 0
    reason: Reason | None = None
    tolerance: float = 0.0
    resolution: float = 0.0
    for_s: float | None = None
    period_s: float | None = None
    settles_in_s: float | None = None
    wild: int = 0
    revised: bool = False
    range_max: float | None = None


NOTHING = Settlement(motion=Motion.WAITING, reason=Reason.NO_VALUE)
"""Before the first reading, and where nothing counts any more."""


def no_value(state: State) -> Reason:
    """Why a reading without a value settles nothing."""
    return Reason.OVERLOAD if state is State.OVERLOAD else Reason.NO_VALUE


class Course(StrEnum):
    """Where a search for an extremum, a fall or a crossing stands."""

    WAITING = "waiting"  # nothing seen yet
    APPROACHING = "approaching"  # going towards it
    PASSED = "passed"  # it lies behind: an extremum seen from one side, a level gone through
    BRACKETED = "bracketed"  # seen from both sides


@dataclass(frozen=True, slots=True, kw_only=True)
class Peak:
    """Verdict of `Extremum`, for a maximum or a minimum.

    level                 of the extremum, base unit; None while waiting
    standard_uncertainty  of that level
    degrees_of_freedom    effective, of its noise
    at_s                  time of the extremum
    departure             how far the present level is from it, base unit, >= 0
    course                BRACKETED once the level has departed on both sides of one extremum
    at_end                the extremum was met without a departure on one side: an end stop, not a peak
    """

    course: Course
    level: float | None = None
    standard_uncertainty: float | None = None
    degrees_of_freedom: float | None = None
    at_s: float | None = None
    departure: float | None = None
    present: float | None = None
    at_end: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fall:
    """Verdict of `BackOff`: how far the level has gone from a known peak towards a target below or above it.

    target       level wanted, base unit
    present      best estimate of the level now, the meter's own lag taken into account as far as known
    remaining    still to go: present - target for a fall, target - present for a rise; negative past it
    reached_s    moment between readings at which the target was passed, None before
    overshoot    how far past the target the level has been, base unit, >= 0
    rate_per_s   present slope towards the target, base unit per second
    slow_down    True when at the present rate the target comes within the hand's reaction time
    """

    course: Course
    target: float
    present: float | None = None
    remaining: float | None = None
    reached_s: float | None = None
    overshoot: float = 0.0
    rate_per_s: float | None = None
    slow_down: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cross:
    """Verdict of `Crossing`: a level gone through, up or down.

    at_s       moment between readings, None before; a crossing needs a second reading beyond to count
    rising     direction of that crossing
    present    level now, base unit
    """

    course: Course
    at_s: float | None = None
    rising: bool | None = None
    present: float | None = None
