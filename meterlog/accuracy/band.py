"""A band of frequencies."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Band:
    """Frequencies, in Hz, edges included, for which the meter is meant."""

    low: float
    high: float

    def holds(self, frequency: float) -> bool:
        return self.low <= frequency <= self.high
