"""A history as a table of texts."""

from meterlog.checking.history import PointHistory
from meterlog.checking.judged import Judged, Standing

HEADS = ("date", "error", "±", "E_n", "allowed", "standing", "out of limits", "degC", "remark")


def rows_of(history: PointHistory) -> list[tuple[str, ...]]:
    """One for each check, the oldest first."""
    alarms = history.charts.alarms if history.charts else {}
    return [
        _row(one, ", ".join(name for name, places in alarms.items() if place in places))
        for place, one in enumerate(history.checks)
    ]


def _row(one: Judged, crying: str) -> tuple[str, ...]:
    kept, check = one.kept, one.check
    remarks = [kept.remark, f"warm-up {kept.warm_up}" if kept.warm_up else "", kept.operator]
    return (
        str(one.day),
        one.shown(one.error, signed=True),
        one.shown(check.error_uncertainty),
        f"{check.normalized_error:+.2f}",
        "" if kept.allowed is None else f"±{one.shown(kept.allowed)}",
        f"{one.standing}, close"
        if one.close and one.standing is not Standing.NOT_JUDGED
        else str(one.standing),
        crying,
        "" if kept.temperature_c is None else f"{kept.temperature_c:g}",
        "; ".join(filter(None, remarks)),
    )
