"""How sure the values of one session are: their readings, the errors of their meters, and which they share.

The error of gain of a meter on a range is one error for all that it reads there at one frequency, so it is
one source: ratios of such readings are free of it. At another frequency it is another one, for what the maker
states for a band is also how far its response may go up and down in it. What is granted for offset and
linearity is counted for each value by itself. A reading that was corrected by the meter's own profile has the
gain of the frequency that the profile is about, and the errors of the profile's rows: shared in the same way.
"""

import math
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

from meterlog.accuracy.budget import Budget, Source, Sources, Uncertain
from meterlog.accuracy.limits import Accuracy, Conditions, Statement
from meterlog.accuracy.profile import Deviation
from meterlog.accuracy.ratio import ends_of_ratio
from meterlog.accuracy.specification import InUse, Range, Shown
from meterlog.accuracy.spread import Shape
from meterlog.accuracy.waveforms import Response, Signal, Waveform, off_by_distortion, off_by_waveform

READINGS = "readings: scatter, drift, one count of the display"
GAIN = "meter, share of the reading"
OFFSET = "meter, range and counts"
PROFILE = "meter's own profile, its rows"
BETWEEN = "meter's own profile, between its rows"
WAVEFORM = "meter averages: waveform"
DISTORTION = "meter averages: distortion of the signal"
LOADING = "load of the meter's input on the point"
STATED = "bounds that the procedure states"
LEAST_DEGREES = 1.0
"""Of freedom; fewer have no Student's t."""
_SHARE_OF_DB = math.log(10.0) / 20.0
"""Of a level, for a small error of 1 dB."""


class Observation(NamedTuple):
    """A value as a channel's readings give it, base unit.

    signal        what is measured
    source_ohm    what the point is fed from, 0.0 where it does not matter
    shown         what the readings tell of the range they were made on
    corrected     what has been taken out of the readings
    """

    channel: str
    value: float
    standard_uncertainty: float
    degrees_of_freedom: float
    signal: Signal = Signal()
    source_ohm: float = 0.0
    shown: Shown = Shown()
    corrected: Deviation | None = None

    @property
    def indicated(self) -> float:
        """As the meter showed it."""
        return self.value / self.corrected.factor if self.corrected else self.value


class Appraisal:
    """`meters` and `conditions` by the names of their channels; of others only the readings count."""

    def __init__(
        self, meters: Mapping[str, InUse] | None = None, conditions: Mapping[str, Conditions] | None = None
    ) -> None:
        self._meters = dict(meters or {})
        self._conditions = dict(conditions or {})
        self._temperature_c: float | None = None
        self._sources = Sources()
        self._of_many: dict[Hashable, Uncertain] = {}

    def use(self, meters: Mapping[str, InUse], conditions: Mapping[str, Conditions]) -> None:
        """From now on these: one of the same name may be another meter, with errors of its own."""
        self._meters, self._conditions = dict(meters), dict(conditions)
        self.forget_gains()

    def forget_gains(self) -> None:
        """A meter was changed for another one of its kind, nobody says which: from now on no error of gain or
        of a profile is one that a value has from before."""
        self._of_many.clear()

    def at(self, temperature_c: float | None) -> None:
        """From now on all meters are at this temperature, or at one that nobody knows. A meter whose
        statement then allows a wider error of gain has another one from now on: what it shared with its
        earlier values is not known."""
        self._temperature_c = temperature_c

    def observed(self, seen: Observation) -> Uncertain:
        """With all that is known of its meter."""
        readings = Source(READINGS, seen.standard_uncertainty, degrees_of_freedom=seen.degrees_of_freedom)
        value = seen.value + self._error(readings)
        meter = self._meters.get(seen.channel)
        range_ = meter.range_of(seen.indicated, seen.shown) if meter else None
        if meter is None or range_ is None:
            return value
        value = value + self._of_meter(seen, meter, range_)
        value = value + self._of_profile(seen, meter) + self._of_waveform(seen, meter)
        return value + self._of_loading(seen, meter)

    def is_known(self, seen: Observation) -> bool:
        """Whether it is known how accurate the meter is there; else only the readings speak."""
        meter = self._meters.get(seen.channel)
        range_ = meter.range_of(seen.indicated, seen.shown) if meter else None
        if meter is None or range_ is None or self._row(seen, meter, range_) is None:
            return False
        return seen.signal.waveform is Waveform.SINE or not meter.is_ac or meter.response is not None

    def stated(self, value: float, standard_uncertainty: float) -> Uncertain:
        """What somebody read or states within bounds."""
        return value + self._error(Source(STATED, standard_uncertainty, Shape.RECTANGULAR))

    def computed(self, value: float, shares: Iterable[tuple[Uncertain, float]]) -> Uncertain:
        """A result from its inputs, each with its partial derivative (JCGM 100:2008, 5.1.2 and 5.2.2)."""
        result: Uncertain = value
        for number, sensitivity in shares:
            result = result + sensitivity * (number - self._sources.value_of(number))
        return result

    def budget(self, number: Uncertain) -> Budget:
        return self._sources.budget(number)

    def ends(self, result: Budget, of: Uncertain, over: Uncertain) -> tuple[float, float]:
        """Lower and upper end of the interval of a ratio, from 0 on."""
        factors = ends_of_ratio(
            result.coverage_factor * self._share(of),
            result.coverage_factor * self._share(over),
            result.expanded_uncertainty / abs(result.value),
        )
        lower, upper = sorted(result.value * factor for factor in factors)
        return lower, upper

    def _share(self, number: Uncertain) -> float:
        return self._sources.standard_uncertainty(number) / abs(self._sources.value_of(number))

    def _of_meter(self, seen: Observation, meter: InUse, range_: Range) -> Uncertain:
        accuracy = self._row(seen, meter, range_)
        if accuracy is None:
            return 0.0
        temperature_c = self._conditions_of(seen.channel).temperature_c
        limit = accuracy.limit(1.0, range_.full_scale, range_.count, temperature_c)
        scale = seen.corrected.factor if seen.corrected else 1.0
        offset = self._error(self._source(OFFSET, accuracy, scale * limit.offset))
        hz = meter.stated_at_hz(seen.signal, corrected=seen.corrected is not None)
        key = (meter.meter, meter.function, meter.coupling, range_.full_scale, accuracy, limit.gain, hz)
        return seen.value * self._shared(key, self._source(GAIN, accuracy, limit.gain)) + offset

    def _row(self, seen: Observation, meter: InUse, range_: Range) -> Accuracy | None:
        """Of the maker's table, the one that holds."""
        hz = meter.stated_at_hz(seen.signal, corrected=seen.corrected is not None)
        conditions = self._conditions_of(seen.channel)._replace(frequency_hz=hz)
        return meter.capability.accuracy_for(range_, conditions) if meter.capability else None

    def _conditions_of(self, channel: str) -> Conditions:
        known = self._conditions.get(channel, Conditions())
        return known if self._temperature_c is None else known._replace(temperature_c=self._temperature_c)

    def _of_profile(self, seen: Observation, meter: InUse) -> Uncertain:
        """A row has one error for all that it corrects, the line between two one for each frequency."""
        found, profile = seen.corrected, meter.profile
        if found is None or profile is None:
            return 0.0
        between = Source.within(BETWEEN, found.between_db)
        error_db = self._shared((profile, found.frequency_hz), between)
        for place, weight in found.shares:
            row = Source(PROFILE, profile.rows[place].standard_uncertainty_db)
            error_db = error_db + weight * self._shared((profile, place), row)
        return -seen.value * _SHARE_OF_DB * error_db

    def _of_waveform(self, seen: Observation, meter: InUse) -> Uncertain:
        """Of a meter that averages. It is not corrected: the whole of it is a bound. A waveform is read alike
        each time; what harmonics do hangs on their phases, so that is each value's own."""
        if meter.response is not Response.AVERAGE:
            return 0.0
        waveform = seen.signal.waveform
        shape = self._shared((meter.meter, waveform), Source.within(WAVEFORM, off_by_waveform(waveform)))
        harmonics = Source.within(DISTORTION, abs(seen.value) * off_by_distortion(seen.signal.distortion))
        return seen.value * shape + self._error(harmonics)

    def _source(self, name: str, accuracy: Accuracy, half_width: float) -> Source:
        shape = Shape.RECTANGULAR if accuracy.statement is Statement.BOUNDS else Shape.NORMAL
        return Source(name, accuracy.standard(half_width), shape)

    def _of_loading(self, seen: Observation, meter: InUse) -> Uncertain:
        """The meter and what feeds it divide the level. That is not corrected: the whole of it is a bound."""
        input_ohm = meter.capability.input_ohm if meter.capability else None
        if not input_ohm or not seen.source_ohm:
            return 0.0
        half_width = abs(seen.value) * seen.source_ohm / (seen.source_ohm + input_ohm)
        return self._error(Source.within(LOADING, half_width))

    def _shared(self, key: Hashable, source: Source) -> Uncertain:
        """One error for all values that ask for it by the same key."""
        if key not in self._of_many:
            self._of_many[key] = self._error(source)
        return self._of_many[key]

    def _error(self, source: Source) -> Uncertain:
        """An error whose best estimate is none at all."""
        degrees = max(LEAST_DEGREES, source.degrees_of_freedom)
        return self._sources.number(0.0, replace(source, degrees_of_freedom=degrees))
