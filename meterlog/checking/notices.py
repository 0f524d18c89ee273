"""What is to be known of the meters before a session: outside at their last check, or overdue."""

from collections.abc import Iterable, Sequence
from datetime import date

from meterlog.bench import MeterEntry
from meterlog.checking.history import PointHistory, by_meter
from meterlog.checking.judged import Standing, who
from meterlog.checking.said import days_words


def notices(own: Iterable[PointHistory], meters: Sequence[MeterEntry], today: date) -> list[str]:
    """Of one that was never checked there is nothing to say."""
    return [line for group in by_meter(own) if _is_meant(group, meters) for line in _notices_of(group, today)]


def _is_meant(group: Sequence[PointHistory], meters: Sequence[MeterEntry]) -> bool:
    """By the serial number, or by the name where either has none."""
    kept = max((one.last.kept for one in group), key=lambda kept: kept.time_ns)
    return any(
        meter.serial_number == kept.serial_number
        if meter.serial_number and kept.serial_number
        else meter.name == kept.meter
        for meter in meters
    )


def _notices_of(group: Sequence[PointHistory], today: date) -> list[str]:
    kept = group[0].last.kept
    named = f"the meter {who(kept.meter, kept.serial_number)}"
    outside = [one.last for one in group if one.last.standing is Standing.OUTSIDE]
    lines = [
        f"{named} was outside at its last check of {one.kept.point} on {one.day}: "
        f"error {one.shown(one.error, signed=True)}, allowed ±{one.shown(one.kept.allowed or 0.0)}"
        for one in outside
    ]
    first = min(group, key=lambda one: one.due)
    late = (today - first.due).days
    if late > 0:
        lines.append(
            f"{named}: its check of {first.last.kept.point} was due on {first.due}, {days_words(late)} ago"
        )
    return lines
