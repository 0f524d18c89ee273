"""One chart: readings over time on the shown scale, the window as a band, what was captured as marks.

One Vega-Lite specification serves every picture; it is drawn to SVG here, without a network or a script.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import altair as alt
import vl_convert

from meterlog.report.thinning import Point

INK, QUIET, TRACE, BAND = "#26313b", "#77828b", "#2f5d73", "#dfe7d5"
_WIDTH, _HEIGHT = 600, 150
_NEAR_TIME, _NEAR_LEVEL = 0.03, 0.12  # of the picture: closer than this, numbers touch
_FEW = 80  # so few readings are each drawn as a dot, for a line alone would hide how few they are


@dataclass(frozen=True, slots=True)
class Mark:
    """A captured value: seconds from the chart's beginning, value as shown, its number in the session."""

    time_s: float
    shown: float
    label: str


@dataclass(frozen=True, slots=True)
class Limits:
    """A target and its window as shown; None where there is none."""

    target: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """What a chart shows, all in `unit`, from 0 to `duration_s`."""

    unit: str
    duration_s: float
    points: Sequence[Point]
    marks: Sequence[Mark] = ()
    limits: Sequence[Limits] = ()


def chart_of(trace: Trace) -> Any:
    """The specification, an `altair.LayerChart` (untyped there); its `to_dict()` is Vega-Lite."""
    divisor, unit = (60.0, "min") if trace.duration_s > 180.0 else (1.0, "s")
    scale = alt.Scale(domain=[0.0, max(trace.duration_s, 1e-3) / divisor], nice=False)
    axis = alt.Axis(title=f"time since the step began, {unit}", tickCount=10, labelOverlap=True)
    x = alt.X("time:Q", scale=scale, axis=axis)
    windows = [layer for limits in trace.limits for layer in _window(limits)]
    layers = [*windows, _line(trace, x, divisor), *_marks(trace, x, divisor)]
    chart = alt.layer(*layers).properties(width=_WIDTH, height=_HEIGHT, background="transparent")
    return chart.configure(font="sans-serif").configure_view(stroke=None).configure_axis(
        gridColor="#e6e8ea", domainColor=QUIET, tickColor=QUIET, labelColor=INK, titleColor=INK,
        titleFontWeight="normal", titleFontSize=11, labelFontSize=10,
    )  # fmt: skip


def chart_svg(trace: Trace, prefix: str) -> str:
    """The chart as an SVG element for an HTML page; `prefix` keeps its ids apart from other charts'."""
    svg = vl_convert.vegalite_to_svg(chart_of(trace).to_dict())
    return re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>{prefix}-", svg)


def _line(trace: Trace, x: Any, divisor: float) -> Any:
    rows = [{"time": point.time_s / divisor, "shown": point.shown} for point in trace.points]
    dots = {"size": 12, "color": TRACE} if len(rows) <= _FEW else False
    y = alt.Y("shown:Q", title=trace.unit, scale=alt.Scale(zero=False, nice=True, padding=6))
    return _chart(rows).mark_line(color=TRACE, strokeWidth=1.3, point=dots).encode(x=x, y=y)


def _window(limits: Limits) -> list[Any]:
    """The band between the limits, or one rule where there is one limit; the target as a rule."""
    layers = []
    if limits.low is not None and limits.high is not None:
        band = _chart([{"low": limits.low, "high": limits.high}])
        layers.append(band.mark_rect(color=BAND).encode(y=alt.Y("low:Q"), y2="high:Q"))
    else:
        layers += [_rule(limit, [2, 2]) for limit in (limits.low, limits.high) if limit is not None]
    return layers + ([] if limits.target is None else [_rule(limits.target, [6, 3])])


def _rule(level: float, dash: list[int]) -> Any:
    return _chart([{"level": level}]).mark_rule(color=INK, strokeDash=dash).encode(y="level:Q")


def _marks(trace: Trace, x: Any, divisor: float) -> list[Any]:
    """A diamond and a number at each captured value."""
    if not trace.marks:
        return []
    diamonds = _at(trace.marks, x, divisor).mark_point(
        shape="diamond", size=70, filled=True, color=INK, opacity=1
    )
    numbers = _at(numbered(trace), x, divisor).mark_text(dy=-11, fontSize=11, fontWeight="bold", color=INK)
    return [diamonds, numbers.encode(text="label:N")]


def _at(marks: Sequence[Mark], x: Any, divisor: float) -> Any:
    rows = [{"time": mark.time_s / divisor, "shown": mark.shown, "label": mark.label} for mark in marks]
    return _chart(rows).encode(x=x, y="shown:Q")


def numbered(trace: Trace) -> list[Mark]:
    """Where numbers would stand over each other they stand once, over the highest: "11, 12"."""
    levels = [point.shown for point in trace.points if point.shown is not None]
    span = max(levels, default=0.0) - min(levels, default=0.0)
    near_s, near = _NEAR_TIME * trace.duration_s, _NEAR_LEVEL * span
    placed: list[Mark] = []
    for mark in trace.marks:
        before = placed[-1] if placed else None
        if before and abs(mark.time_s - before.time_s) <= near_s and abs(mark.shown - before.shown) <= near:
            top, labels = max(mark.shown, before.shown), f"{before.label}, {mark.label}"
            placed[-1] = Mark(before.time_s, top, labels)
        else:
            placed.append(mark)
    return placed


def _chart(rows: Sequence[Mapping[str, object]]) -> Any:
    return alt.Chart(alt.InlineData(values=rows))
