"""A batch on paper, read back. All values are made up."""

import io
from datetime import datetime
from pathlib import Path

import pytest
from pypdf import PdfReader

from meterlog.report import Paper, ReportError
from meterlog.report.batch import BatchReport, StepLine, UnitLine
from meterlog.report.batch_file import Batch
from meterlog.report.batch_pdf import batch_pdf, write_batch
from meterlog.report.batch_words import sentences
from tests.report.story import SUMMER
from tests.report.test_pdf import pages_of

AT = datetime(2026, 10, 26, 9, 0, tzinfo=SUMMER)


def batch_of(count: int) -> BatchReport:
    serials = [f"S{index:02d}" for index in range(count)]
    words = ["pass", "conditional pass", "fail", "open", "not begun"]
    units = [UnitLine(serial, words[i % 5], i + 1, i % 5 == 0) for i, serial in enumerate(serials)]
    step = StepLine(
        step="rail", title="#emph[rail]", unit="V", cells={s: f"-15.{i:02d}" for i, s in enumerate(serials)},
        count=count, median="-15.01", spread=0.0123, cpk=1.5, apart=("S03", "straggler"),
    )  # fmt: skip
    batch = Batch(name="June", procedure="supply", unit_model="Any supply", serials=serials)
    return BatchReport(batch=batch, units=tuple(units), steps=(step,), pairs=(("S00", "S01", "0.01 V"),))


def test_the_last_units_stand_under_the_others() -> None:
    """Forty in rows of six: the last four begin where the others do."""
    at: dict[str, float] = {}

    def note(text: str, place: list[float], *_: object) -> None:
        at.setdefault(text.strip(), place[4])

    for page in PdfReader(io.BytesIO(batch_pdf(batch_of(40), Paper.A4, AT))).pages:
        page.extract_text(visitor_text=note)
    assert (at["−15.36"], at["−15.39"]) == pytest.approx((at["−15.30"], at["−15.33"]))


def test_units_spread_values_and_pairs_are_on_it() -> None:
    text = " ".join(pages_of(batch_pdf(batch_of(8), Paper.A4, AT)))
    for part in (
        "June", "Any supply, procedure supply", "S07", "conditional pass", "not begun", "#emph[rail], V",
        "−15.07", "0.0123", "1.50", "S03 (straggler)", "Pair: S00 with S01, 0.01 V apart.",
        "2026-10-26 09:00:00 +02:00", "page 1 of", "End of the report, batch June.",
    ):  # fmt: skip
        assert part in text


def test_many_units_go_over_pages_that_all_carry_the_name() -> None:
    pages = pages_of(batch_pdf(batch_of(60), Paper.LETTER, AT))
    assert len(pages) > 2
    assert all("June" in page for page in pages[1:])
    assert all(any(f"S{index:02d} " in page for page in pages) for index in range(60))


def test_conditional_passes_are_counted_apart() -> None:
    report = batch_of(5)
    assert (report.passed, report.conditional, report.done) == (1, 1, 3)
    assert "1 passed conditionally: inside by less than the uncertainty." in sentences(report)


def test_only_pdf(tmp_path: Path) -> None:
    with pytest.raises(ReportError, match=r"ends in \.pdf"):
        write_batch(batch_of(1), tmp_path / "batch.html")
    write_batch(batch_of(1), tmp_path / "batch.pdf")
    assert (tmp_path / "batch.pdf").read_bytes().startswith(b"%PDF-")
