"""What the rows say, before any format."""

import math

import pytest

from meterlog.accuracy import Verdict
from meterlog.accuracy.budget import Line, Source
from meterlog.export.columns import READING_COLUMNS, SETTLED_COLUMNS
from meterlog.export.tables import Cell, Table, readings_table, settled_table
from meterlog.procedure import Pass
from meterlog.reading import State
from tests.report.story import Story, dbu
from tests.report.wagtail import whole_story


def rows(table: Table) -> list[dict[str, Cell]]:
    return [dict(zip(table.columns, row, strict=True)) for row in table.rows]


def test_a_settled_value_with_everything_that_belongs_to_it() -> None:
    second = rows(settled_table(whole_story().session()))[1]
    assert list(second) == list(SETTLED_COLUMNS)
    exact = {key: second[key] for key in ("session", "unit serial", "step", "title", "pass", "role", "unit")}
    assert exact == {
        "session": 12,
        "unit serial": "W12-0042",
        "step": "level",
        "title": "Reproduce level",
        "pass": "as found",
        "role": "measured",
        "unit": "V",
    }
    assert second["value"] == dbu(3.4)
    assert second["shown value"] == pytest.approx(3.4)
    assert (second["shown unit"], second["verdict"], second["counts"]) == ("dBu", "fail", "yes")
    assert second["shown uncertainty up"] == pytest.approx(8.686 * 0.00213, rel=2e-3)
    assert str(second["time"]) == "2026-10-25 02:20:22+02:00"


def test_a_redo_points_to_what_it_replaces_and_the_old_value_carries_the_reason() -> None:
    found = {row["number"]: row for row in rows(settled_table(whole_story().session()))}
    assert (found[10]["attempt"], found[10]["counts"], found[10]["reason"]) == (
        1,
        "no",
        "tape was not seated",
    )
    assert (found[11]["attempt"], found[11]["counts"], found[11]["replaces"]) == (2, "yes", 10)


def test_every_value_of_the_record_is_there_and_none_is_nan() -> None:
    story = whole_story()
    found = rows(settled_table(story.session()))
    assert [row["number"] for row in found] == [value.number for value in story.values]
    numbers = [cell for row in found for cell in row.values() if isinstance(cell, float)]
    assert all(math.isfinite(number) for number in numbers)


def under_rule(rule: str) -> Story:
    return Story(Story().text.replace('revision = "', f'{rule}\nrevision = "', 1))


def test_a_conditional_verdict_names_its_rule() -> None:
    """Inside the window by less than U = 2.13 u: "conditional pass" (ILAC-G8:09/2019, 4.2.3)."""
    story = under_rule('decision = "four answers"')
    story.capture("level", Pass.AS_FOUND, dbu(4.09), uncertainty=0.01, window=(dbu(3.9), dbu(4.1)))
    (row,) = rows(settled_table(story.session()))
    assert (row["verdict"], row["decision rule"]) == ("conditional pass", "four answers")


def test_a_stated_risk_stands_with_the_rule() -> None:
    story = under_rule('decision = "guard band"\nfalse_accept = "2 %"')
    story.capture("noise", Pass.AS_FOUND, 0.00045)
    (row,) = rows(settled_table(story.session()))
    assert row["decision rule"] == "guard band, false accept 2 %"


def test_what_passes_stands_beside_the_limits_where_it_is_less() -> None:
    """U = 2.13 u inside each limit."""
    for rule, band in (('decision = "guard band"', 0.0213), ("", None)):
        story = under_rule(rule)
        story.capture("level", Pass.AS_FOUND, 1.0, uncertainty=0.01, window=(0.9, 1.1))
        (row,) = rows(settled_table(story.session()))
        ends = (row["passes from"], row["passes to"])
        assert ends == ((None, None) if band is None else pytest.approx((0.9 + band, 1.1 - band)))


def test_where_a_guard_band_leaves_nothing_there_are_no_ends_of_what_passes() -> None:
    """U = 0.213 inside each limit of 0.9 to 1.1 would be from 1.113 to 0.887."""
    story = under_rule('decision = "guard band"')
    story.capture("level", Pass.AS_FOUND, 1.0, uncertainty=0.1, window=(0.9, 1.1))
    (row,) = rows(settled_table(story.session()))
    assert (row["passes from"], row["passes to"], row["verdict"]) == (None, None, "fail")


def test_how_sure_a_value_is_and_about_which_one() -> None:
    story = Story()
    line = Line(Source("readings", 0.0005), 2.0, 0.001)
    story.capture("noise", Pass.AS_FOUND, 1.0)
    story.capture("noise", Pass.AS_FOUND, 1.0, uncertainty=0.001, budget=(line,), about=1)
    first, second = rows(settled_table(story.session()))
    assert (first["about"], first["budget"]) == (None, ())
    assert (second["about"], second["budget"]) == (1, (line,))
    assert (second["standard uncertainty"], second["degrees of freedom"]) == (0.001, 20.0)
    assert (first["decision rule"], second["decision rule"]) == ("simple", "simple")


def test_a_level_of_nothing_is_in_volts_not_minus_infinity() -> None:
    story = Story()
    story.capture("noise", Pass.AS_FOUND, 0.0, uncertainty=0.001)
    story.end("noise", Pass.AS_FOUND, Verdict.NOT_JUDGED)
    (row,) = rows(settled_table(story.session()))
    assert (row["shown value"], row["shown unit"]) == (0.0, "V")


def test_the_reference_of_a_level_goes_with_its_unit() -> None:
    story = Story(Story().text.replace('show = "dBu"', 'show = "VU"'))
    story.capture("noise", Pass.AS_FOUND, dbu(4.0))
    (row,) = rows(settled_table(story.session()))
    assert row["shown unit"] == "VU (0 VU = +4 dBu)"
    assert row["shown value"] == pytest.approx(0.0, abs=1e-9)


def test_a_reading_and_the_lack_of_one() -> None:
    story = Story()
    story.read("output", 1.5, dbu(4.0))
    story.read("output", 1.7, None, State.OVERLOAD)
    story.read("output", 1.9, 0.0)
    story.read("not in the procedure", 2.1, -0.3)
    good, over, nothing, other = rows(readings_table(story.session()))
    assert list(good) == list(READING_COLUMNS)
    assert (good["seconds"], good["state"], good["flags"], good["raw"]) == (1.5, "ok", "auto", "+1.2277E+00")
    assert good["shown value"] == pytest.approx(4.0)
    assert str(good["time"]) == "2026-10-25 02:20:01.500000+02:00"
    assert (over["value"], over["shown value"], over["state"]) == (None, None, "overload")
    assert (nothing["value"], nothing["shown value"]) == (0.0, None)
    assert (other["shown value"], other["shown unit"]) == (-0.3, "V")


def test_units_are_plain_ascii() -> None:
    story = Story(Story().text.replace('show = "dBu"', 'show = "µV"'))
    story.capture("noise", Pass.AS_FOUND, 0.00045)
    (row,) = rows(settled_table(story.session()))
    assert row["shown unit"] == "uV"
    assert row["shown value"] == pytest.approx(450.0)
