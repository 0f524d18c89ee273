"""What the bench's own channels tell of the air: news for the record once it has changed enough."""

from meterlog.accuracy import Environment
from meterlog.bench import Bench
from meterlog.reading import Reading

TEMPERATURE_STEP_C, HUMIDITY_STEP_PERCENT = 0.5, 5.0
"""What is worth a row. A specification's temperature coefficient counts whole kelvins beyond its limits."""


class Room:
    """Of a bench that names a channel for its temperature or humidity; of any other it never has news."""

    def __init__(self, bench: Bench) -> None:
        self._temperature, self._humidity = (
            bench.laboratory.temperature_channel,
            bench.laboratory.humidity_channel,
        )

    def news(self, reading: Reading, known: Environment) -> str:
        """What the record is to keep of this reading, "" if it tells nothing new."""
        if reading.value is None or reading.channel not in (self._temperature, self._humidity):
            return ""
        try:
            told = self._told(reading.channel, reading.value)
        except ValueError:  # a sensor that fell off tells of no bench
            return ""
        moved = _beyond(told.temperature_c, known.temperature_c, TEMPERATURE_STEP_C) or _beyond(
            told.humidity_percent, known.humidity_percent, HUMIDITY_STEP_PERCENT
        )
        return told.text if moved else ""

    def _told(self, channel: str, value: float) -> Environment:
        source, rounded = f"channel {channel}", round(value, 1)
        if channel == self._temperature:
            return Environment(temperature_c=rounded, source=source)
        return Environment(humidity_percent=rounded, source=source)


def _beyond(told: float | None, known: float | None, step: float) -> bool:
    return told is not None and (known is None or abs(told - known) >= step)
