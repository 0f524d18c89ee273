"""One check and a history: E_n, inside or outside, the staircase, why no date; words, pages. Made up."""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from meterlog.checking.as_plain import history_plain
from meterlog.checking.errors import CheckError
from meterlog.checking.history import NO_LIMITS, POOR_REFERENCE, PointHistory, histories
from meterlog.checking.judged import Judged, Standing
from meterlog.checking.page import write_history
from meterlog.checking.said import due_words, history_words, judged_words
from meterlog.records import MeterCheck
from tests.checking.made import FIRST, check

DAY_0 = FIRST.date()


def one(*checks: MeterCheck) -> PointHistory:
    (found,) = histories(checks)
    return found


def test_e_n() -> None:
    """ISO/IEC 17043:2010, B.3.1.3: the error over the root of both expanded uncertainties squared; 0.06 and
    0.08 make 0.1 (k = 2)."""
    found = Judged(check(0, 0.25))
    assert found.check.normalized_error == pytest.approx(2.5)
    assert not found.check.explained
    assert Judged(check(0, 0.1)).check.explained
    wider = Judged(check(0, 0.25, reference_uncertainty=0.09, reference_factor=3.0))
    assert wider.check.error_uncertainty == pytest.approx(0.1)  # 0.09 at k = 3 is 0.06 at k = 2


@pytest.mark.parametrize(
    ("error", "allowed", "standing", "close"),
    [
        (0.25, 1.0, Standing.INSIDE, False),
        (-0.95, 1.0, Standing.INSIDE, True),
        (1.0, 1.0, Standing.INSIDE, True),  # on the limit is inside
        (-1.05, 1.0, Standing.OUTSIDE, True),
        (1.2, 1.0, Standing.OUTSIDE, False),
        (9.0, None, Standing.NOT_JUDGED, False),
    ],
)
def test_inside_or_outside(error: float, allowed: float | None, standing: Standing, close: bool) -> None:
    found = Judged(check(0, error, allowed=allowed))
    assert (found.standing, found.close) == (standing, close)


def test_one_check_in_words() -> None:
    assert judged_words(Judged(check(0, -1.05, remark="battery low"))) == (
        "dc 10 V: shows 8.95 V, source is 10.00 V; error -1.05 V ± 0.10 V; "
        "E_n -10.50 (more than the uncertainties explain); outside ±1.00 V, "
        "by less than its uncertainty; battery low"
    )
    assert judged_words(Judged(check(0, 0.05, allowed=None))).endswith(
        "E_n +0.50; not judged: nobody has stated how far off it may be"
    )


def test_the_next_check_by_the_staircase() -> None:
    """ILAC-G24 / OIML D 10, method 1, with our steps: a quarter longer within 80 %, halved when outside,
    from 7 days to 2 years. A check that comes before it is due makes nothing longer."""
    weekly = [check(7 * n, 0.1) for n in range(3)]
    assert one(weekly[0]).every_days == 7.0
    assert one(*weekly[:2]).every_days == 8.75
    assert one(*weekly).every_days == 8.75  # 7 days later 8.75 were not over
    assert one(*weekly, check(30, 0.9)).every_days == 8.75  # over 80 % it stays
    assert one(*weekly, check(30, 0.79)).every_days == pytest.approx(8.75 * 1.25)
    monthly = [check(30 * n, 0.1, every_days=30.0) for n in range(3)]
    assert one(*monthly).every_days == 37.5
    assert one(*monthly, check(61, -1.5, every_days=30.0)).every_days == 18.75  # at once
    assert one(*weekly).due == DAY_0 + timedelta(days=14 + 9)
    assert due_words(one(*weekly), DAY_0 + timedelta(days=24)).endswith("; 1 day overdue")


@pytest.mark.parametrize(
    ("checks", "why"),
    [
        ([check(0, 0.1, allowed=None)], NO_LIMITS),
        ([check(0, 0.1, reference_uncertainty=1.0)], POOR_REFERENCE),
        ([check(0, 0.1)], "too few checks"),
        ([check(0, 2.0)], "already outside"),
        ([check(0, 0.97)], "inside by less than the uncertainty of the reference"),
        ([check(7 * n, 0.1 * (-1) ** n) for n in range(9)], "no slope that chance could not make"),
        ([check(7 * n, 1e-4 * n) for n in range(9)], "not within ten years"),
    ],
)
def test_why_there_is_no_date(checks: list[MeterCheck], why: str) -> None:
    found = one(*checks)
    assert found.outlook == (None, why)
    assert f"no date can be said: {why}" in history_words(found, DAY_0)


def test_meters_points_and_references_are_kept_apart() -> None:
    checks = [
        check(0, 0.1), check(0, 0.2, point="ac"), check(0, 0.3, reference="another"),
        check(0, 0.4, meter="B"), check(1, 0.5), check(2, 0.6, serial_number="S-2"),
    ]  # fmt: skip
    assert len(histories(checks)) == 5
    (found,) = [each for each in histories(checks, meter="A", point="dc 10 V") if len(each.checks) == 2]
    assert found.errors == pytest.approx([0.1, 0.5])
    assert [each.errors for each in histories(checks, meter="S-2")] == [pytest.approx([0.6])]
    assert histories(checks, since=date(2026, 1, 8)) == []


def test_a_jump_is_told_by_chart_and_day() -> None:
    checks = [check(7 * n, 0.02 * (-1) ** n) for n in range(20)]
    steady = history_words(one(*checks), DAY_0)
    assert steady[0] == "charts: silent (limits from the first 19 checks)"
    words = history_words(one(*checks, check(140, 0.5), check(147, 0.5)), DAY_0)
    assert words[:2] == [
        "individuals: out of its limits on 2026-05-25 and 1 times since",
        "EWMA: out of its limits on 2026-05-25 and 1 times since",
    ]
    assert history_words(one(*checks[:8]), DAY_0)[0] == "no charts yet: too few checks (8)"


def test_for_programs_every_number_is_json() -> None:
    checks = [check(7 * n, 0.02 * (-1) ** n) for n in range(12)]
    found = json.loads(json.dumps(history_plain(one(*checks), DAY_0), allow_nan=False))
    assert found["limits"]["baseline"] == 11
    assert found["checks"][3]["error"] == pytest.approx(-0.02)
    assert found["checks"][0]["time"] == "2026-01-05T09:00:00+00:00"
    assert json.loads(json.dumps(history_plain(one(check(0, 0.1)), DAY_0), allow_nan=False))["limits"] is None


def test_as_a_page_and_as_pictures(tmp_path: Path) -> None:
    named = '<b>"A" & co</b>'
    checks = [check(7 * n, 0.02 * (-1) ** n, meter=named) for n in range(12)]
    found = histories([*checks, check(0, 0.1, allowed=None)])
    for kind in ("html", "svg", "png"):
        write_history(found, tmp_path / f"h.{kind}", DAY_0)
    page = (tmp_path / "h.html").read_text()
    assert page.count("<svg") == 2
    assert "<b>" not in page
    assert "<script" not in page
    assert (tmp_path / "h.svg").read_text().startswith("<svg")
    assert (tmp_path / "h.png").read_bytes().startswith(b"\x89PNG")
    with pytest.raises(CheckError, match=r"h\.pdf: a history is written as \.html, \.svg, \.png"):
        write_history(found, tmp_path / "h.pdf", DAY_0)
