"""Where the uncertainties come from, as the report shows it."""

import math

import pytest

from meterlog.accuracy.budget import Line, Source
from meterlog.accuracy.spread import Shape
from meterlog.procedure import Pass
from meterlog.report.as_json import as_json
from meterlog.report.build import build_report
from meterlog.report.html import report_html
from meterlog.report.model import Report
from tests.report.story import NEAR_4_DBU, Story, dbu
from tests.report.wagtail import whole_story

READINGS = Line(Source("readings", 0.0012, degrees_of_freedom=11.0), 1.0, 0.0012)
GAIN = Line(Source("meter, share of the reading", 0.0004, Shape.RECTANGULAR), dbu(4.0), 0.0004 * dbu(4.0))


def report_of(*lines: Line, factor: float = 2.13) -> Report:
    story = Story()
    story.capture("level", Pass.AS_LEFT, dbu(4.0), target=dbu(4.0), window=NEAR_4_DBU)
    story.end("level", Pass.AS_LEFT)
    total = math.hypot(*(line.contribution for line in lines))
    story.values.clear()
    story.capture(
        "level", Pass.AS_LEFT, dbu(4.0), target=dbu(4.0), window=NEAR_4_DBU, uncertainty=total, budget=lines,
        about=None, coverage_factor=factor,
    )  # fmt: skip
    story.end("level", Pass.AS_LEFT)
    return build_report(story.session())


def test_each_source_has_a_line_in_the_unit_of_the_result() -> None:
    """A volt is 8.686 / 1.2277 dB at +4 dBu: 20 / ln 10 over the level."""
    (budget,) = report_of(READINGS, GAIN).budgets
    readings, gain = budget.lines
    assert (readings.source, readings.distribution, readings.degrees_of_freedom) == (
        "readings",
        "normal",
        "11",
    )
    assert (gain.distribution, gain.degrees_of_freedom) == ("rectangular", "∞")
    assert readings.standard_uncertainty == "0.0012"
    assert float(readings.sensitivity) == pytest.approx(8.686 / dbu(4.0), abs=0.01)
    assert float(readings.contribution) == pytest.approx(0.0012 * 8.686 / dbu(4.0), abs=1e-4)
    assert budget.shown.distance_unit == "dB"


def test_the_shares_are_those_of_the_variance_and_make_a_whole() -> None:
    (budget,) = report_of(READINGS, GAIN).budgets
    shares = [float(line.share.removesuffix(" %")) for line in budget.lines]
    assert sum(shares) == pytest.approx(100.0, abs=0.1)
    assert shares[0] == pytest.approx(100 * 0.0012**2 / (0.0012**2 + (0.0004 * dbu(4.0)) ** 2), abs=0.1)


def test_what_an_earlier_version_took_for_one_rectangle_is_said_to_be_covered_by_95_percent() -> None:
    """k = 0.95 root 3 (EA-4/02 M:2022, S9.14), as it stands in their records."""
    assert report_of(GAIN, factor=0.95 * math.sqrt(3.0)).budgets[0].coverage == "95 %"
    assert report_of(READINGS, GAIN).budgets[0].coverage == "95.45 %"


def test_the_factor_is_printed_to_the_digits_that_make_u_of_it() -> None:
    """A k of 2.025 printed as 2.02 would make another U. Made up."""
    report = report_of(READINGS, factor=2.025)
    assert report_html(report).count("k&nbsp;=&nbsp;2.025") == 2
    told = as_json(report)
    assert told["budgets"][0]["coverage_factor"] == "2.025"
    assert told["captured"][0]["coverage_factor"] == "2.025"


def test_results_recorded_without_a_budget_are_named() -> None:
    report = build_report(whole_story().session())
    assert report.budgets == ()
    assert len(report.without_budget) == len(
        {cell.number for row in report.rows for cell in (row.found, row.left) if cell.number}
    )
    short = Story()
    short.level("level", Pass.AS_FOUND, 4.0)
    short.redo("level", Pass.AS_FOUND, "slipped")
    short.level("level", Pass.AS_FOUND, 4.0)
    assert "No budget is on record for no. 2:" in report_html(build_report(short.session()))


def test_the_page_has_the_table() -> None:
    page = report_html(report_of(READINGS, GAIN))
    assert "Where the uncertainties come from" in page
    assert '<th scope="row">meter, share of the reading</th><td>rectangular</td>' in page
