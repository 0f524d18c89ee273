"""Checks and histories in words: the same in the terminal and on a page."""

from datetime import UTC, date, datetime

from meterlog.accuracy.drift.student import two_sided
from meterlog.checking.history import PointHistory
from meterlog.checking.judged import Judged, who
from meterlog.checking.moved import Comparison
from meterlog.checking.touched import Doubt
from meterlog.quantity import readable_scale, show

DAYS_OF_MONTH = 365.25 / 12.0


def judged_words(one: Judged) -> str:
    """One check as it is told at once: what was shown, how far off, explained or not, inside or outside."""
    kept, check = one.kept, one.check
    scale = readable_scale(kept.reference_value or kept.indicated, kept.unit)
    digit = check.error_uncertainty / 10.0
    shown, reference = (show(value, scale, digit) for value in (kept.indicated, kept.reference_value))
    words = [
        f"{kept.point}: shows {shown}, {kept.reference} is {reference}",
        f"error {one.shown(one.error, signed=True)} ± {one.shown(check.error_uncertainty)}",
        f"E_n {check.normalized_error:+.2f}"
        + ("" if check.explained else " (more than the uncertainties explain)"),
        standing_words(one),
    ]
    return "; ".join([*words, *filter(None, [kept.remark])])


def standing_words(one: Judged) -> str:
    if one.kept.allowed is None:
        return "not judged: nobody has stated how far off it may be"
    close = ", by less than its uncertainty" if one.close else ""
    return f"{one.standing} ±{one.shown(one.kept.allowed)}{close}"


def history_words(history: PointHistory, today: date) -> list[str]:
    """Charts, drift, until when, and when next: a line each."""
    lines = [drift_words(history), outlook_words(history), due_words(history, today)]
    return [*alarm_words(history), *filter(None, lines)]


def alarm_words(history: PointHistory) -> list[str]:
    """What the charts cry out, each with its first check; one line where there are no charts yet, or none
    does."""
    found = history.charts
    if found is None:
        return [f"no charts yet: too few checks ({len(history.checks)})"]
    crying = {name: places for name, places in found.alarms.items() if places}
    if not crying:
        return [f"charts: silent (limits from the first {found.baseline} checks)"]
    return [
        f"{name}: out of its limits on {history.checks[places[0]].day}"
        + (f" and {len(places) - 1} times since" if len(places) > 1 else "")
        for name, places in crying.items()
    ]


def drift_words(history: PointHistory) -> str:
    """Slope with its 95 % interval, for a month; "" while nobody can tell."""
    line = history.line
    if line is None:
        return ""
    slope = line.slope * DAYS_OF_MONTH
    half = two_sided(line.degrees_of_freedom, 0.95) * line.slope_sd * DAYS_OF_MONTH
    scale = readable_scale(max(abs(slope), half), history.last.kept.unit)
    return f"drift {show(slope, scale, half / 10.0)} ± {show(half, scale, half / 10.0)} a month (95 %)"


def outlook_words(history: PointHistory) -> str:
    until, why = history.outlook
    if until is None:
        return f"no date can be said: {why}"
    return f"inside its specification until about {until} (95 %), if it drifts as it did"


def due_words(history: PointHistory, today: date) -> str:
    late = (today - history.due).days
    words = f"next check by {history.due}, {history.every_days:.0f} days after the last"
    return f"{words}; {days_words(late)} overdue" if late > 0 else words


def moved_words(one: Comparison) -> str:
    scale = readable_scale(
        max(abs(c.now - c.before) for c in (one.a, one.b, one.between)), one.now.a.kept.unit
    )
    a, b = one.now.a.kept.meter, one.now.b.kept.meter
    names = {
        f"{a} less {one.reference}": one.a,
        f"{b} less {one.reference}": one.b,
        f"{a} less {b}": one.between,
    }
    changes = ", ".join(
        f"{name} {show(change.now - change.before, scale)} ± {show(change.uncertainty, scale)}"
        for name, change in names.items()
    )
    moved = str(one.moved).replace("meter A", a).replace("meter B", b)
    return f"{one.point}, {one.before.day} to {one.now.day}: {moved} ({changes})"


def doubt_words(doubt: Doubt) -> str:
    named = who(doubt.meter, doubt.serial_number)
    if not doubt.points:
        return f"{named}: sessions since {_day(doubt.good_ns or 0)}"
    since = (
        "it was never found inside"
        if doubt.good_ns is None
        else f"it was last inside on {_day(doubt.good_ns)}"
    )
    found = f"found outside at {', '.join(doubt.points)} on {_day(doubt.found_ns or 0)}"
    return f"{named}: {found}; {since}"


def days_words(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"


def _day(time_ns: int) -> date:
    return datetime.fromtimestamp(time_ns / 1e9, UTC).date()
