"""Histories and touched sessions as what JSON knows: for programs, from the command and from the API."""

from datetime import UTC, date, datetime
from typing import Any

from meterlog.checking.history import PointHistory
from meterlog.checking.judged import Judged
from meterlog.checking.said import history_words
from meterlog.checking.touched import Doubt, Touched


def history_plain(history: PointHistory, today: date) -> dict[str, Any]:
    """Values in the base unit; alarms as the times of their checks."""
    kept, (until, why) = history.last.kept, history.outlook
    return {
        "meter": kept.meter,
        "serial_number": kept.serial_number,
        "point": kept.point,
        "reference": kept.reference,
        "unit": str(kept.unit),
        "standing": str(history.last.standing),
        "checks": [check_plain(one) for one in history.checks],
        "limits": _limits(history),
        "alarms": _alarms(history),
        "drift_per_day": _drift(history),
        "inside_until": str(until) if until else None,
        "why_no_date": why,
        "every_days": history.every_days,
        "due": str(history.due),
        "overdue": history.due < today,
        "words": history_words(history, today),
    }


def check_plain(one: Judged) -> dict[str, Any]:
    kept = one.kept
    return {
        "time": iso(kept.time_ns),
        "function": kept.function,
        "coupling": str(kept.coupling),
        "range": kept.full_scale,
        "frequency_hz": kept.frequency_hz,
        "reference_value": kept.reference_value,
        "reference_uncertainty": kept.reference_uncertainty,
        "k": kept.reference_factor,
        "indicated": kept.indicated,
        "error": one.error,
        "error_uncertainty": one.check.error_uncertainty,
        "normalized_error": one.check.normalized_error,
        "allowed": kept.allowed,
        "standing": str(one.standing),
        "temperature_c": kept.temperature_c,
        "warm_up": kept.warm_up,
        "operator": kept.operator,
        "remark": kept.remark,
    }


def touched_plain(doubt: Doubt, found: list[Touched]) -> dict[str, Any]:
    return {
        "meter": doubt.meter,
        "serial_number": doubt.serial_number,
        "points": list(doubt.points),
        "last_inside": iso(doubt.good_ns) if doubt.good_ns is not None else None,
        "found_outside": iso(doubt.found_ns) if doubt.found_ns is not None else None,
        "sessions": [
            {
                "id": one.session.id,
                "unit": f"{one.session.unit_model} {one.session.unit_serial}".strip(),
                "procedure": one.session.procedure_title,
                "began": iso(one.session.began_time_ns),
                "verdict": str(one.session.ended.verdict) if one.session.ended else None,
                "values": one.values,
                "begun_when_known": one.known,
            }
            for one in found
        ],
    }


def iso(time_ns: int) -> str:
    return datetime.fromtimestamp(time_ns / 1e9, UTC).isoformat(timespec="seconds")


def _alarms(history: PointHistory) -> dict[str, list[str]]:
    found = history.charts
    alarms = found.alarms if found else {}
    return {
        name: [iso(history.checks[place].kept.time_ns) for place in places] for name, places in alarms.items()
    }


def _limits(history: PointHistory) -> dict[str, float] | None:
    """Of the charts; None while there are none."""
    found = history.charts
    if found is None:
        return None
    return {
        "baseline": found.baseline,
        "centre": found.centre,
        "sd": found.sd,
        "individuals": 3.0 * found.sd,
        "ewma": found.ewma.high[-1] - found.centre,
        "cusum": found.cusum.decision,
    }


def _drift(history: PointHistory) -> dict[str, float] | None:
    line = history.line
    return None if line is None else {"slope": line.slope, "sd": line.slope_sd, "chance": line.slope_chance}
