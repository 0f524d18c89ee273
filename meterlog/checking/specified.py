"""What a meter's specification says at a point: how far off it may be, and how sure a second meter is."""

from dataclasses import replace
from typing import NamedTuple

from meterlog.accuracy import Accuracy, Conditions, InUse, Range


class Specified(NamedTuple):
    """What holds for one value; None where nobody has stated anything."""

    range: Range
    accuracy: Accuracy
    limit: float

    @property
    def standard_uncertainty(self) -> float:
        """Of a reading that may be off by `limit`."""
        return self.accuracy.standard(self.limit)


def specified(
    meter: InUse | None, value: float, full_scale: float | None, conditions: Conditions
) -> Specified | None:
    """`full_scale`: the range that the meter says it was on; else the one that it would choose counts."""
    if meter is None or meter.capability is None:
        return None
    used = meter if full_scale is None else replace(meter, range_max=full_scale)
    range_ = used.range_for((value,))
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
