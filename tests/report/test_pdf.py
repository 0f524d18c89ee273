"""The report on paper, read back by another library: what it says, on which pages, and that it is PDF/A.

What PDF/A asks of a file (ISO 19005-2: its own fonts, an output intent, its part and level in the metadata,
no script) is looked at here; `test_pdf_a` asks an independent validator.
"""

import io
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader
from sqlalchemy import Engine

from meterlog.procedure import Pass
from meterlog.report import Form, Paper, ReportError, write_report
from meterlog.report.build import build_report
from meterlog.report.model import Report
from meterlog.report.pdf import report_pdf, sheet_pdf
from tests.report.recorded import Recorded, new_record
from tests.report.story import CHECK_ONLY, PROCEDURE, Story
from tests.report.test_budgets import GAIN, READINGS, report_of
from tests.report.test_decision_words import judged
from tests.report.wagtail import whole_story

MARKUP = '#image("x") *bold* $x$ @ref = - _under_ \\'
NO_GLYPH = "\u0378"  # unassigned in Unicode, so that no font has it
LONG = "W" * 120


def pages_of(pdf: bytes) -> list[str]:
    """The text of each page, one space between words."""
    pages = PdfReader(io.BytesIO(pdf)).pages
    return [" ".join(page.extract_text().replace("\u200b", "").split()) for page in pages]


def many_steps(count: int) -> Report:
    """A check of many rails, each inside; every one with its value."""
    head, _, step = CHECK_ONLY.partition("[[step]]")
    steps = [
        step.replace('id = "rail"', f'id = "rail{i}"').replace("Positive rail", f"Rail number {i}")
        for i in range(count)
    ]
    story = Story(head + "".join(f"[[step]]{one}" for one in steps))
    for i in range(count):
        value = story.capture(
            f"rail{i}", Pass.AS_FOUND, 15.0 + i / 1000.0, channel="rail", target=15.0, window=(14.775, 15.225)
        )
        story.end(f"rail{i}", Pass.AS_FOUND, value.verdict)
    return build_report(story.session())


@pytest.fixture(scope="module")
def report() -> Report:
    return build_report(whole_story().session())


@pytest.fixture(scope="module")
def pdf(report: Report) -> bytes:
    return report_pdf(report)


@pytest.fixture(scope="module")
def pages(pdf: bytes) -> list[str]:
    return pages_of(pdf)


@pytest.fixture(scope="module")
def many() -> bytes:
    return report_pdf(many_steps(60), Paper.LETTER)


@pytest.fixture
def engine(tmp_path: Path) -> Engine:
    return new_record(tmp_path)


def test_results_and_verdicts_are_on_the_first_page(pages: list[str]) -> None:
    first = pages[0].replace("\u00a0", " ")
    for text in (
        "Reproduce and record alignment", "Wagtail 12, serial number W12-0042", "+3.400 dBu ± 0.019 dB",
        "−100.70 mV ± 0.11 mV", "fail", "pass", "not judged", "k = 2.13, no. 2", "+3.90 to +4.10",
        "Steps: 1 pass, 3 fail, 2 not judged.",
    ):  # fmt: skip
        assert text in first


def test_every_page_carries_the_number_of_the_report_and_its_own(pages: list[str]) -> None:
    for place, text in enumerate(pages, 1):
        assert f"page {place} of {len(pages)}" in text
        assert "session 12, unit W12-0042" in text


def test_the_last_page_has_the_place_to_sign_and_the_end(pages: list[str]) -> None:
    assert "Authorised by" in pages[-1]
    assert "End of the report" in pages[-1]
    assert sum(text.count("Authorised by") for text in pages) == 1


def test_every_section_of_the_page_in_the_browser_is_there(pages: list[str]) -> None:
    text = " ".join(pages)
    for heading in (
        "Results", "Done otherwise than the procedure asks", "Values taken back", "Adjustments", "Meters",
        "Levels and verdicts", "Course of the session", "Notes", "Settled values",
        "Where the uncertainties come from",
    ):  # fmt: skip
        assert heading in text
    assert "Simple acceptance (ILAC-G8:09/2019, 4.2.1)" in text
    assert "No budget is on record for no. 1, 2, 3" in text


def test_it_says_that_it_is_pdf_a_and_has_what_that_asks_for(pdf: bytes) -> None:
    reader = PdfReader(io.BytesIO(pdf))
    root = reader.trailer["/Root"]
    metadata = root["/Metadata"].get_object().get_data().decode()
    assert re.search(r"pdfaid:part>2<", metadata)
    assert re.search(r"pdfaid:conformance>A<", metadata)
    (intent,) = root["/OutputIntents"]
    assert intent.get_object()["/S"] == "/GTS_PDFA1"
    assert "/DestOutputProfile" in intent.get_object()
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"].startswith("en")
    assert "/Names" not in root or "/JavaScript" not in root["/Names"]
    assert not reader.is_encrypted


def test_every_font_is_in_the_file(pdf: bytes) -> None:
    fonts = [
        font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        for page in PdfReader(io.BytesIO(pdf)).pages
        for font in page["/Resources"]["/Font"].values()
    ]
    assert fonts
    assert all("/FontFile2" in font or "/FontFile3" in font for font in fonts)


def test_the_same_report_gives_the_same_bytes(many: bytes) -> None:
    assert report_pdf(many_steps(60), Paper.LETTER) == many


def test_sixty_steps_go_over_many_pages_with_the_head_of_the_table_on_each(many: bytes) -> None:
    pages = pages_of(many)
    assert len(pages) > 4
    for i in range(60):
        assert sum(f"Rail number {i} " in text for text in pages) >= 3, "result, course, settled value"
    results = [text for text in pages if "Rail number 59 " in text or "Rail number 0 " in text]
    assert all(
        "Target and window" in text or "Standing" in text or "Readings" in text for text in results[:2]
    )


@pytest.mark.parametrize(("paper", "size_mm"), [(Paper.A4, (210.0, 297.0)), (Paper.LETTER, (215.9, 279.4))])
def test_paper(paper: Paper, size_mm: tuple[float, float]) -> None:
    box = PdfReader(io.BytesIO(sheet_pdf(judged(15.0), paper))).pages[0].mediabox
    size = (float(box.width) / 72.0 * 25.4, float(box.height) / 72.0 * 25.4)
    assert size == pytest.approx(size_mm, abs=0.1)


def test_what_looks_like_markup_comes_out_as_text() -> None:
    story = Story(CHECK_ONLY.replace("Positive rail", MARKUP.replace("\\", "\\\\").replace('"', '\\"')))
    value = story.capture("rail", Pass.AS_FOUND, 15.0, channel="rail", target=15.0, window=(14.775, 15.225))
    story.end("rail", Pass.AS_FOUND, value.verdict, reason=MARKUP)
    text = " ".join(pages_of(report_pdf(build_report(story.session()))))
    assert text.count(MARKUP) >= 4


def test_a_character_that_no_font_has_is_named() -> None:
    story = Story(CHECK_ONLY.replace("Positive rail", f"Rail {NO_GLYPH}"))
    with pytest.raises(ReportError, match=r"No font on this machine has .* \(U\+0378\)\. .*HTML"):
        report_pdf(build_report(story.session()))


@pytest.mark.parametrize(
    ("value", "word"), [(15.2, "conditional pass"), (15.25, "conditional fail"), (15.175, "15.9 % outside")]
)
def test_conditional_verdicts_and_risks(value: float, word: str) -> None:
    for pdf in (report_pdf(judged(value)), sheet_pdf(judged(value))):
        assert word in pages_of(pdf)[0].replace("\u00a0", " ")


def test_a_budget_is_a_table() -> None:
    text = " ".join(pages_of(report_pdf(report_of(READINGS, GAIN))))
    for part in ("meter, share of the reading", "rectangular", "Degrees of freedom", "Contribution"):
        assert part in text


@pytest.mark.parametrize("paper", list(Paper))
def test_a_budget_stands_on_one_page(paper: Paper) -> None:
    """Where it is cut its heading stands once more; forty of four lines do not all end with a page."""
    one = report_of(READINGS, GAIN)
    many = replace(one, budgets=tuple(replace(one.budgets[0], number=n) for n in range(1, 41)))
    pages = pages_of(report_pdf(many, paper))
    headings = [re.findall(r"No\. (\d+): Reproduce level", page) for page in pages]
    assert [int(n) for page in headings for n in page] == list(range(1, 41))
    for page, numbers in zip(pages, headings, strict=True):
        assert page.count("Together; expanded") == len(numbers)


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext to see where words end")
@pytest.mark.parametrize("paper", list(Paper))
def test_nothing_runs_over_the_margin(paper: Paper, tmp_path: Path) -> None:
    story = Story(PROCEDURE.replace("Reproduce level", LONG[:80]).replace("overload lamp", LONG[:60]))
    story.level("level", Pass.AS_FOUND, 3.0)
    story.redo("level", Pass.AS_FOUND, LONG)
    story.skip("bias", Pass.AS_FOUND, LONG)
    path = tmp_path / "long.pdf"
    path.write_bytes(report_pdf(build_report(story.session()), paper))
    boxes = subprocess.run(
        ["pdftotext", "-bbox", path, "-"], capture_output=True, text=True, check=True
    ).stdout
    width = float(re.search(r'<page width="([\d.]+)"', boxes)[1])  # type: ignore[index]
    ends = [float(end) for end in re.findall(r'<word[^>]* xMax="([\d.]+)"', boxes)]
    assert max(ends) <= width - 18.0 / 25.4 * 72.0 + 1.0, "18 mm are the margin"


def test_the_name_of_the_file_decides_and_the_form_is_followed(engine: Engine, tmp_path: Path) -> None:
    with Recorded(engine) as session:
        session.settle_at(15.0)
        session.go_on()
    path = tmp_path / "report.PDF"
    write_report(engine, session.id, path, Form(paper=Paper.LETTER, customer=" A. Customer "))
    text = " ".join(pages_of(path.read_bytes()))
    for part in ("A. Customer (as given by the customer)", "Results as recorded", "issued 20", "SHA-256"):
        assert part in text
    write_report(engine, session.id, tmp_path / "sheet.html", Form(sheet=True))
    assert "Test sheet" in (tmp_path / "sheet.html").read_text(encoding="utf-8")
