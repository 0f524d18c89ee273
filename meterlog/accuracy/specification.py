"""What a meter can do: its functions with their ranges and frequency bands. Base units throughout.

What the maker states of their accuracy is a list of its own: its rows hold for several ranges, or for parts
of a band; see `meterlog.accuracy.limits`.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from meterlog.accuracy.band import Band
from meterlog.accuracy.limits import Accuracy, Conditions
from meterlog.accuracy.profile import Deviation, Profile
from meterlog.accuracy.waveforms import Response, Signal, Waveform
from meterlog.reading import Coupling

USUAL_FREQUENCY_HZ = 1000.0
"""Taken for AC where no step says which, if the meter reads it: the tone that levels are usually set with
(common practice)."""


_SAME_RANGE = math.log(1.2)
"""A range called 6 V is that of 6.6 V, and not that of 10 V."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What a reading tells of the range it was made on, base unit: full scale, None where it does not say,
    and one count of the display, 0.0 where that is not known."""

    full_scale: float | None = None
    count: float = 0.0


@dataclass(frozen=True, slots=True)
class Range:
    """full_scale is what it is called by, highest what it still shows, count its last digit."""

    full_scale: float
    count: float
    highest: float


@dataclass(frozen=True, slots=True)
class Capability:
    """One function. No bands: frequency means nothing for it. `lowest` is a part of full scale.

    input_ohm   the meter's input impedance, None where it is not stated
    response    what an AC function makes of a waveform, None where nobody says
    crest_factor  the largest one that is read right at full scale, None where nobody says
    accuracies  what the maker states, the rows of the table in their order
    """

    function: str
    coupling: Coupling
    ranges: tuple[Range, ...]
    bands: tuple[Band, ...] = ()
    input_ohm: float | None = None
    response: Response | None = None
    crest_factor: float | None = None
    lowest: float = 0.0
    accuracies: tuple[Accuracy, ...] = ()

    def accuracy_for(self, range_: Range, conditions: Conditions) -> Accuracy | None:
        """The row that holds. Of several the one for the shortest time that is enough; of a calibration too
        long ago, on a day to come (a slip), or of which nothing is known, the one for the longest. None: the
        maker states nothing."""
        timeless = conditions._replace(days_since_calibration=None)
        rows = [row for row in self.accuracies if row.holds(range_.full_scale, timeless)]
        age = conditions.days_since_calibration
        fresh = [row for row in rows if age is not None and 0.0 <= age <= row.days]
        if fresh:
            return min(fresh, key=lambda row: row.days)
        return max(rows, key=lambda row: row.days, default=None)

    def likely_range(self, value: float) -> Range | None:
        """The finest range that shows it, where a meter that chooses by itself ends up; None: beyond all."""
        return min(
            (one for one in self.ranges if one.highest >= abs(value)), key=lambda one: one.count, default=None
        )

    def range_shown(self, shown: Shown) -> Range | None:
        """The range that a reading says it was on, by its full scale or else by its count; None: it does not
        say, or this meter has no such range. Full scales are called by round numbers, so near is enough."""
        if shown.full_scale:
            for one in self.ranges:
                if abs(math.log(one.full_scale / shown.full_scale)) <= _SAME_RANGE:
                    return one
        counted = [one for one in self.ranges if math.isclose(one.count, shown.count, rel_tol=1e-6)]
        return counted[0] if len(counted) == 1 else None

    def range_called(self, full_scale: float) -> Range | None:
        """The smallest range with this name or a larger one: what a meter takes that is asked for it."""
        return min(
            (one for one in self.ranges if one.full_scale >= full_scale * (1 - 1e-9)),
            key=lambda one: one.full_scale,
            default=None,
        )


@dataclass(frozen=True, slots=True)
class Specification:
    """A whole meter, or a class of meters."""

    title: str
    reading_period_s: float
    capabilities: tuple[Capability, ...]

    def capability(self, function: str, coupling: Coupling) -> Capability | None:
        return next(
            (one for one in self.capabilities if (one.function, one.coupling) == (function, coupling)), None
        )


@dataclass(frozen=True, slots=True)
class InUse:
    """A meter as a channel of a bench uses it.

    range_max  full scale of the range that the bench file chose, None where the meter chooses
    lowest_hz  what a filter lets through, from the bench file
    profile    its own frequency response, where it was measured; `correct`: to be taken out of its readings
    """

    meter: str
    specification: Specification
    function: str
    coupling: Coupling
    range_max: float | None = None
    lowest_hz: float = 0.0
    profile: Profile | None = None
    correct: bool = False

    @property
    def capability(self) -> Capability | None:
        return self.specification.capability(self.function, self.coupling)

    @property
    def is_ac(self) -> bool:
        return self.coupling in (Coupling.AC, Coupling.ACDC)

    @property
    def response(self) -> Response | None:
        """What it makes of a waveform that is no sine, as far as somebody says."""
        return self.capability.response if self.capability else None

    def range_for(self, values: Iterable[float]) -> Range | None:
        """The range on which all of these would be read; None where none shows them."""
        capability, largest = self.capability, max(abs(value) for value in values)
        if capability is None:
            return None
        if self.range_max is None:
            return capability.likely_range(largest)
        chosen = capability.range_called(self.range_max)
        return chosen if chosen is not None and chosen.highest >= largest else None

    def range_of(self, value: float, shown: Shown) -> Range | None:
        """The range that a value was read on: what its reading says, else as `range_for`."""
        found = self.capability.range_shown(shown) if self.capability else None
        return found if found is not None and found.highest >= abs(value) else self.range_for((value,))

    def correction(self, signal: Signal, shown: Shown) -> Deviation | None:
        """What is to be taken out of a reading; None without a profile, a frequency, or off its range, and of
        what is no sine, for that has no one frequency. The range must be known, by the reading or the bench
        file: a guess might change between readings."""
        if not self.correct or self.profile is None or self.capability is None:
            return None
        if signal.frequency_hz is None or signal.waveform is not Waveform.SINE:
            return None
        range_ = self.capability.range_shown(shown)
        if range_ is None and self.range_max is not None:
            range_ = self.capability.range_called(self.range_max)
        if range_ is None or range_ != self.capability.range_called(self.profile.full_scale):
            return None
        return self.profile.deviation(signal.frequency_hz)

    @property
    def finest(self) -> Range | None:
        """The range with the smallest count that may be in use."""
        if self.capability is None:
            return None
        if self.range_max is not None:
            return self.capability.range_called(self.range_max)
        return min(self.capability.ranges, key=lambda one: one.count)

    def bands(self) -> tuple[Band, ...]:
        """As the filter leaves them."""
        found = self.capability.bands if self.capability else ()
        return tuple(Band(max(one.low, self.lowest_hz), one.high) for one in found)

    def passes(self, frequency_hz: float) -> bool:
        """Whether it is meant for it."""
        bands = self.bands()
        return not bands or any(band.holds(frequency_hz) for band in bands)

    def stated_at_hz(self, signal: Signal, *, corrected: bool) -> float | None:
        """The frequency at which its maker's statement is asked for a reading: that of the signal or the
        usual one; of a corrected reading that which its profile is about, for the rest the profile answers.
        None where frequency means nothing, and where nobody knows it."""
        if not self.is_ac:
            return None
        if corrected and self.profile:
            return self.profile.reference_hz
        return self.usual_hz if signal.frequency_hz is None else signal.frequency_hz

    @property
    def usual_hz(self) -> float | None:
        """Taken for a frequency that nobody states; None for DC, and where the meter does not read it."""
        return USUAL_FREQUENCY_HZ if any(band.holds(USUAL_FREQUENCY_HZ) for band in self.bands()) else None
