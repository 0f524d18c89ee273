"""Whether our PDFs are PDF/A, asked of a validator that is none of ours: Apache PDFBox Preflight.

It knows part 1, level B, only (ISO 19005-1). So each paper is set in PDF/A-1b too, by the same templates, and
has to pass; and the PDF/A-2a that is handed out goes through it as well, where it may object to what part 2
allows and part 1 does not, and to nothing else. Debian has it:
apt install libpdfbox2-java libactivation-java libjaxb-api-java default-jre-headless.
"""

import io
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader
from pypdf.generic import ArrayObject, IndirectObject

from meterlog.report import Paper, pdf
from meterlog.report.batch_pdf import batch_pdf
from meterlog.report.build import build_report
from tests.report.test_batch_pdf import AT, batch_of
from tests.report.test_budgets import GAIN, READINGS, report_of
from tests.report.wagtail import whole_story

_JARS = [
    Path("/usr/share/java", f"{name}.jar")
    for name in (
        "preflight", "pdfbox2", "fontbox2", "xmpbox", "commons-logging", "javax.activation", "jaxb-api",
    )
]  # fmt: skip
_LACKING = [jar.name for jar in _JARS if not jar.exists()] + ([] if shutil.which("java") else ["java"])
pytestmark = [
    pytest.mark.skipif(bool(_LACKING), reason=f"no validator here: {', '.join(_LACKING)} missing"),
    pytest.mark.slow,
]

PAPERS: dict[str, Callable[[], bytes]] = {
    "report": lambda: pdf.report_pdf(build_report(whole_story().session())),
    "report with budgets, letter": lambda: pdf.report_pdf(report_of(READINGS, GAIN), Paper.LETTER),
    "sheet": lambda: pdf.sheet_pdf(build_report(whole_story().session())),
    "batch": lambda: batch_pdf(batch_of(8), Paper.A4, AT),
}
_BY_REFERENCE = re.compile(
    r"1\.2\.3 : Body Syntax error, Error: can't convert to Destination COSObject\{(\d+), 0\}"
)
"""A bookmark that names its place by reference, as ISO 32000-1, 7.3.10, allows for any value. This validator
does not follow it there, so the test does."""
_OF_PART_1 = re.compile(
    r"2\.1\.6 : Invalid graphics object, Invalid version of the ICCProfile( on page \d+)?"
    r"|7\.11\.2 : Error on MetaData, part must be 1"
)
"""Part 2 builds on PDF 1.7 and its ICC profiles (ISO 19005-2, 6.2.4.2), part 1 on PDF 1.4 and older ones;
and a file of part 2 says so."""


def objections(made: bytes, folder: Path) -> list[str]:
    """What the validator says against it, but for bookmarks whose place is a sound one."""
    path = folder / "made.pdf"
    path.write_bytes(made)
    command = ["java", "-cp", ":".join(map(str, _JARS)), "org.apache.pdfbox.preflight.Validator_A1b", path]
    said = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    head, *errors = [line for line in said.stdout.splitlines() if line.strip()]
    assert head.startswith("The file made.pdf is "), said.stderr
    assert ("is a valid" in head) == (not errors) == (said.returncode == 0)
    return [error for error in errors if not _is_sound_bookmark(error, made)]


def _is_sound_bookmark(error: str, made: bytes) -> bool:
    found = _BY_REFERENCE.fullmatch(error)
    if not found:
        return False
    reader = PdfReader(io.BytesIO(made))
    place = reader.get_object(IndirectObject(int(found[1]), 0, reader))
    assert isinstance(place, ArrayObject)
    return place[0].get_object()["/Type"] == "/Page" and place[1] == "/XYZ"


@pytest.mark.parametrize("name", PAPERS)
def test_set_as_pdf_a_1b_every_paper_is_valid(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pdf, "_STANDARD", "a-1b")
    assert objections(PAPERS[name](), tmp_path) == []


@pytest.mark.parametrize("name", ["report with budgets, letter", "sheet"])
def test_what_is_handed_out_breaks_no_rule_but_those_that_part_2_has_lifted(
    name: str, tmp_path: Path
) -> None:
    left = [error for error in objections(PAPERS[name](), tmp_path) if not _OF_PART_1.fullmatch(error)]
    assert left == []


def test_the_validator_does_object(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An ordinary PDF is no PDF/A: it has neither metadata that say so nor an output intent."""
    monkeypatch.setattr(pdf, "_STANDARD", "1.7")
    assert objections(PAPERS["sheet"](), tmp_path)
