"""One check judged: how far off, whether the uncertainties explain it, inside or outside what is allowed."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from functools import cached_property

from meterlog.accuracy.drift import Check
from meterlog.quantity import Scale, readable_scale, show
from meterlog.records import MeterCheck


class Standing(StrEnum):
    """By simple acceptance; not judged where nobody has stated how far off it may be."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    NOT_JUDGED = "not judged"


@dataclass(frozen=True)
class Judged:
    """A check as it was taken, with what follows from it."""

    kept: MeterCheck

    @cached_property
    def check(self) -> Check:
        """With k = 2 for both uncertainties."""
        kept = self.kept
        return Check(
            function=kept.function,
            full_scale=kept.full_scale or 0.0,
            reference=kept.reference_value,
            reference_uncertainty=2.0 * kept.reference_uncertainty / kept.reference_factor,
            indicated=kept.indicated,
            indicated_uncertainty=kept.expanded_uncertainty,
            day=self.day,
        )

    @property
    def day(self) -> date:
        """UTC."""
        return datetime.fromtimestamp(self.kept.time_ns / 1e9, UTC).date()

    @property
    def error(self) -> float:
        return self.check.error

    @property
    def standing(self) -> Standing:
        if self.kept.allowed is None:
            return Standing.NOT_JUDGED
        within = self.check.within(self.kept.allowed)
        return Standing.OUTSIDE if within.is_failure else Standing.INSIDE

    @property
    def close(self) -> bool:
        """Whether the limit lies within the uncertainty of the error: it may as well be on the other side."""
        allowed = self.kept.allowed
        return allowed is not None and abs(abs(self.error) - allowed) < self.check.error_uncertainty

    @property
    def scale(self) -> Scale:
        """One prefix for error, uncertainty and limit."""
        largest = max(abs(self.error), self.check.error_uncertainty, self.kept.allowed or 0.0)
        return readable_scale(largest, self.kept.unit)

    def shown(self, value: float, *, signed: bool = False) -> str:
        """A difference, to a tenth of the uncertainty."""
        text = show(value, self.scale, self.check.error_uncertainty / 10.0)
        return f"+{text}" if signed and value > 0.0 else text


def meter_key(serial_number: str, name: str) -> str:
    """Who a meter is: its serial number, or its name in the bench file where it has none."""
    return serial_number or name


def key_of(kept: MeterCheck) -> str:
    return meter_key(kept.serial_number, kept.meter)


def who(meter: str, serial_number: str) -> str:
    return f"{meter} ({serial_number})" if serial_number else meter
