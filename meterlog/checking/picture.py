"""A history drawn: errors with their uncertainty, control limits and what is allowed; below, the sums."""

import re
from collections.abc import Sequence
from typing import Any

import altair as alt
import vl_convert

from meterlog.checking.charts import Charts
from meterlog.checking.history import PointHistory
from meterlog.checking.judged import who
from meterlog.quantity import Scale, readable_scale

THIN = 0.9
CUT = 3.0
"""The sums are drawn up to so many decision intervals: beyond, how far they went says nothing more."""
INK, QUIET, TRACE, SMOOTH, ALARM = "#26313b", "#77828b", "#2f5d73", "#8a5a00", "#9b1c1c"
_WIDTH, _HEIGHT, _SUMS_HEIGHT = 640, 200, 90


def history_svg(histories: Sequence[PointHistory], prefix: str = "") -> str:
    """One picture for all of them, one above the other; `prefix` keeps its ids apart on a page."""
    svg = vl_convert.vegalite_to_svg(_picture(histories).to_dict())
    return re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>{prefix}", svg)


def history_png(histories: Sequence[PointHistory]) -> bytes:
    drawn: bytes = vl_convert.vegalite_to_png(_picture(histories).to_dict(), scale=2.0)
    return drawn


def _picture(histories: Sequence[PointHistory]) -> Any:
    panels = [panel for history in histories for panel in _panels(history)]
    return alt.vconcat(*panels).configure(font="sans-serif", background="white").configure_view(stroke=None)


def _panels(history: PointHistory) -> list[Any]:
    """The errors, and the sums once there are charts."""
    kept, found = history.last.kept, history.charts
    largest = max(abs(one.error) + one.check.error_uncertainty for one in history.checks)
    scale = readable_scale(max(largest, kept.allowed or 0.0), kept.unit)
    title = f"{who(kept.meter, kept.serial_number)}, {kept.point}, against {kept.reference}"
    layers = [*_allowed(history, scale), *_limits(history, scale), *_errors(history, scale)]
    errors = alt.layer(*layers).properties(width=_WIDTH, height=_HEIGHT, title=title)
    return [errors, _sums(history, found)] if found else [errors]


def _errors(history: PointHistory, scale: Scale) -> list[Any]:
    rows = [
        {
            "time": time,
            "error": scale.from_base(one.error),
            "low": scale.from_base(one.error - one.check.error_uncertainty),
            "high": scale.from_base(one.error + one.check.error_uncertainty),
        }
        for time, one in zip(_times(history), history.checks, strict=True)
    ]
    at = _chart(rows).encode(x=_x(), y=_y("error", scale))
    bars = _chart(rows).mark_rule(color=QUIET).encode(x=_x(), y=_y("low", scale), y2="high:Q")
    return [bars, at.mark_point(size=22, filled=True, color=TRACE, opacity=1), *_cries(history, rows, scale)]


def _cries(history: PointHistory, rows: Sequence[dict[str, float]], scale: Scale) -> list[Any]:
    """A square about each check that a chart cries out at; a letter where others do than the check before."""
    found: dict[int, list[str]] = {}
    for name, places in history.charts.alarms.items() if history.charts else ():
        for place in places:
            found.setdefault(place, []).append(name[0])
    marked = [
        rows[place] | {"which": "" if found.get(place - 1) == names else "".join(names)}
        for place, names in sorted(found.items())
    ]
    at = _chart(marked).encode(x=_x(), y=_y("error", scale))
    squares = at.mark_point(shape="square", size=110, color=ALARM, strokeWidth=1.5)
    letters = at.mark_text(dy=-13, fontSize=9, color=ALARM).encode(text="which:N")
    return [squares, letters] if marked else []


def _allowed(history: PointHistory, scale: Scale) -> list[Any]:
    """What was allowed at each check, as steps."""
    lines = []
    for sign in (-1.0, 1.0):
        rows = [
            {"time": time, "limit": scale.from_base(sign * one.kept.allowed)}
            for time, one in zip(_times(history), history.checks, strict=True)
            if one.kept.allowed is not None
        ]
        if rows:
            drawn = _chart(rows).mark_line(
                color=INK, strokeWidth=1.2, strokeDash=[7, 3], interpolate="step-after"
            )
            lines.append(drawn.encode(x=_x(), y=_y("limit", scale)))
    return lines


def _limits(history: PointHistory, scale: Scale) -> list[Any]:
    """Shewhart's limits as thin lines, the average that forgets with its own, dotted."""
    found = history.charts
    if found is None:
        return []
    shewhart = [
        _line(history, values, scale, color=QUIET, strokeWidth=THIN)
        for values in (found.individuals.low, found.individuals.high)
    ]
    forgetting = [
        _line(history, values, scale, color=SMOOTH, strokeWidth=THIN, strokeDash=[2, 2])
        for values in (found.ewma.low, found.ewma.high)
    ]
    return [*shewhart, *forgetting, _line(history, found.ewma.points, scale, color=SMOOTH, strokeWidth=1.6)]


def _sums(history: PointHistory, found: Charts) -> Any:
    """In standard deviations; the decision interval as dashes."""
    unit = found.sd or 1.0
    rows = [
        {"time": time, "sum": sign * value / unit, "which": which}
        for which, sign, sums in (("above", 1.0, found.cusum.high), ("below", -1.0, found.cusum.low))
        for time, value in zip(_times(history), sums, strict=True)
    ]
    most = CUT * found.cusum.decision / unit
    y: dict[str, Any] = {"title": "cumulative sum, s", "scale": alt.Scale(domain=[-most, most])}
    drawn = _chart(rows).mark_line(color=TRACE, strokeWidth=1.3, clip=True)
    lines = drawn.encode(x=_x(), y=alt.Y("sum:Q", **y), detail="which:N")
    edges = _chart([{"edge": sign * found.cusum.decision / unit} for sign in (-1.0, 1.0)])
    rules = edges.mark_rule(color=QUIET, strokeDash=[4, 3]).encode(y=alt.Y("edge:Q", **y))
    return alt.layer(rules, lines).properties(width=_WIDTH, height=_SUMS_HEIGHT)


def _line(history: PointHistory, values: Sequence[float], scale: Scale, **style: Any) -> Any:
    rows = [
        {"time": time, "limit": scale.from_base(value)}
        for time, value in zip(_times(history), values, strict=True)
    ]
    return _chart(rows).mark_line(**style).encode(x=_x(), y=_y("limit", scale))


def _times(history: PointHistory) -> list[float]:
    """Milliseconds, as Vega counts."""
    return [one.kept.time_ns / 1e6 for one in history.checks]


def _x() -> Any:
    axis = alt.Axis(title=None, format="%Y-%m-%d", labelOverlap=True, tickCount=8, grid=False)
    return alt.X("time:T", scale=alt.Scale(type="utc"), axis=axis)


def _y(name: str, scale: Scale) -> Any:
    """Layers share one axis, so each names it."""
    return alt.Y(f"{name}:Q", title=f"error, {scale.symbol}", scale=alt.Scale(zero=False, nice=True))


def _chart(rows: Sequence[dict[str, Any]]) -> Any:
    return alt.Chart(alt.InlineData(values=rows))
