"""A meter's own frequency response taken out of its readings, where the bench file asks for it.

What a step sees, guides by and takes is the corrected level; the record keeps the readings as they came, so
that a replay corrects them again.
"""

from collections.abc import Mapping
from dataclasses import replace

from meterlog.accuracy import Deviation, InUse, Shown, Signal
from meterlog.procedure.model import Procedure
from meterlog.procedure.signals import signal_at, signals_of
from meterlog.reading import Reading


class Correcting:
    """`meters` by the names of their channels."""

    def __init__(self, procedure: Procedure, meters: Mapping[str, InUse] | None) -> None:
        self._signals = signals_of(procedure)
        self.use(meters or {})

    def use(self, meters: Mapping[str, InUse]) -> None:
        """From now on these."""
        self._meters = {name: meter for name, meter in meters.items() if meter.correct}

    def signal(self, step: str, part: str) -> Signal:
        return signal_at(self._signals, step, part)

    def deviation(self, channel: str, step: str, part: str, shown: Shown) -> Deviation | None:
        """What is taken out of a reading; None where nothing is."""
        meter = self._meters.get(channel)
        return meter.correction(self.signal(step, part), shown) if meter else None

    def corrected(self, reading: Reading, step: str, part: str) -> Reading:
        """One count grows with the value, so the range is named: its count would not tell it any more."""
        if reading.channel not in self._meters:
            return reading
        shown = Shown(reading.range_max, reading.resolution)
        found = self.deviation(reading.channel, step, part, shown)
        if found is None or reading.value is None:
            return reading
        profile = self._meters[reading.channel].profile
        assert profile is not None
        return replace(
            reading,
            value=reading.value * found.factor,
            resolution=reading.resolution * found.factor,
            range_max=profile.full_scale,
        )
