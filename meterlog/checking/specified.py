"""What a meter's specification says at a point: how far off it may be, and how sure a second meter is."""

from typing import NamedTuple

from meterlog.accuracy import Accuracy, Conditions, InUse, Range, Shown


class Specified(NamedTuple):
    """What holds for one value; None where nobody has stated anything."""

    range: Range
    accuracy: Accuracy
    limit: float

    @property
    def standard_uncertainty(self) -> float:
        """Of a reading that may be off by `limit`."""
        return self.accuracy.standard(self.limit)


def specified(meter: InUse | None, value: float, shown: Shown, conditions: Conditions) -> Specified | None:
    """`shown`: what the reading says of its range; else the one that the meter would choose counts."""
    if meter is None or meter.capability is None:
        return None
    range_ = meter.range_of(value, shown)
    accuracy = meter.capability.accuracy_for(range_, conditions) if range_ else None
    if range_ is None or accuracy is None:
        return None
    limit = accuracy.limit(value, range_.full_scale, range_.count, conditions.temperature_c)
    return Specified(range_, accuracy, limit.total)


def age_remark(found: Specified | None, conditions: Conditions) -> str:
    """That its calibration is older than what is stated for it, "" if it is not, or nobody knows."""
    age = conditions.days_since_calibration
    if found is None or age is None or age <= found.accuracy.days:
        return ""
    return f"calibrated {age:.0f} days ago, and its specification holds for {found.accuracy.days:.0f}"
