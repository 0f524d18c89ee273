"""The picture is there, carries no script, and breaks where the meter had no value."""

import xml.etree.ElementTree as ET

from meterlog.report.charts import Limits, Mark, Trace, chart_of, chart_svg
from meterlog.report.thinning import Point

SVG = "{http://www.w3.org/2000/svg}"
RISE = [Point(float(second), 1.0 + second / 100.0) for second in range(100)]


def trace(points: list[Point], **rest: object) -> Trace:
    return Trace(unit="dBu", duration_s=99.0, points=points, **rest)  # type: ignore[arg-type]


def drawn(one: Trace) -> ET.Element:
    return ET.fromstring(chart_svg(one, "chart1"))


def lines(svg: ET.Element) -> list[str]:
    """The path data of the curve."""
    groups = [g for g in svg.iter(f"{SVG}g") if "mark-line" in g.get("class", "")]
    return [path.get("d", "") for group in groups for path in group.iter(f"{SVG}path")]


def texts(svg: ET.Element) -> set[str]:
    return {element.text or "" for element in svg.iter(f"{SVG}text")}


def test_axes_say_what_they_show_and_marks_carry_their_numbers() -> None:
    svg = drawn(trace(RISE, marks=[Mark(50.0, 1.5, "17")], limits=[Limits(1.5, 1.4, 1.6)]))
    assert {"dBu", "time since the step began, s", "17"} <= texts(svg)


def test_numbers_that_would_stand_over_each_other_stand_once_and_those_apart_do_not() -> None:
    """The picture is 99 s by 0.99 dB: marks 1 s and 0.05 dB apart would touch, 20 s or 0.5 dB do not."""
    at = [Mark(70.0, 1.5, "16"), Mark(90.0, 1.5, "17"), Mark(91.0, 1.55, "18"), Mark(91.0, 1.0, "19")]
    found = texts(drawn(trace(RISE, marks=at)))
    assert {"16", "17, 18", "19"} <= found
    assert not {"17", "18"} & found


def test_a_gap_breaks_the_line() -> None:
    whole = lines(drawn(trace(RISE)))
    broken = lines(drawn(trace([p if p.time_s != 50.0 else Point(50.0, None) for p in RISE])))
    assert [path.count("M") for path in whole] == [1]
    assert [path.count("M") for path in broken] == [2]


def test_long_steps_are_in_minutes() -> None:
    long = Trace(unit="mV", duration_s=600.0, points=[Point(float(s), 1.0) for s in range(600)])
    assert "time since the step began, min" in texts(drawn(long))


def test_every_window_is_a_band_and_every_single_limit_a_rule() -> None:
    marks = [layer["mark"]["type"] for layer in specification([Limits(1.5, 1.4, 1.6), Limits(low=1.2)])]
    assert marks == ["rect", "rule", "rule", "line"]


def specification(limits: list[Limits]) -> list[dict[str, dict[str, str]]]:
    layers: list[dict[str, dict[str, str]]] = chart_of(trace(RISE, limits=limits)).to_dict()["layer"]
    return layers


def test_a_chart_without_a_single_reading_is_still_a_chart() -> None:
    assert drawn(trace([])).tag == f"{SVG}svg"


def test_no_script_no_link_and_text_from_outside_is_escaped() -> None:
    one = Trace(unit="<script>x</script>", duration_s=1.0, points=RISE[:2])
    svg = ET.fromstring(chart_svg(one, "chart1"))
    assert "<script>x</script>" in texts(svg)
    assert not [e for e in svg.iter() if e.tag in (f"{SVG}script", f"{SVG}a", f"{SVG}image")]
    assert all(element.get("id", "chart1-").startswith("chart1-") for element in svg.iter())
