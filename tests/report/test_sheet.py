"""The sheet for the customer on paper, read back."""

import pytest

from meterlog.report.build import build_report
from meterlog.report.pdf import sheet_pdf
from tests.report.test_pdf import many_steps, pages_of
from tests.report.wagtail import whole_story


@pytest.mark.parametrize("count", [9, 25])
def test_the_sheet_is_one_page(count: int) -> None:
    (page,) = pages_of(sheet_pdf(many_steps(count)))
    assert "page 1 of 1" in page
    assert f"Rail number {count - 1} " in page
    assert "Authorised by" in page
    assert "Simple acceptance" in page


def test_the_sheet_says_what_was_found_and_left() -> None:
    (page,) = pages_of(sheet_pdf(build_report(whole_story().session())))
    for text in ("+3.400 dBu", "+4.020 dBu", "+3.90 to +4.10", "fail", "pass", "The results relate only to"):
        assert text in page.replace("\u00a0", " ")
