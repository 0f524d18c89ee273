"""Reports on paper: PDF/A-2a by the typesetter Typst, whose package holds the fonts. Data goes in as JSON."""

import json
import re
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

import typst

from meterlog.report.as_json import as_json
from meterlog.report.charts import chart_svg
from meterlog.report.errors import ReportError
from meterlog.report.model import Chart, Report
from meterlog.report.paper import Paper
from meterlog.report.shapes import drawing
from meterlog.report.standing import Standing

_TEMPLATES = Path(__file__).with_name("templates")
_FONT = "Libertinus Serif"
_STANDARD: Literal["a-2a"] = "a-2a"
_INK = {
    Standing.PASS: "#2f6043",
    Standing.CONDITIONAL_PASS: "#2f6043",
    Standing.CONDITIONAL_FAIL: "#9c2f24",
    Standing.FAIL: "#9c2f24",
    Standing.INCOMPLETE: "#7a5a12",
    Standing.NOT_DONE: "#7a5a12",
    Standing.SKIPPED: "#7a5a12",
}
_QUIET = "#5d6973"
_UNSHOWN = re.compile(r'the text `"(.+?)"` could not be displayed')
_ESCAPED = re.compile(r"\\u\{([0-9a-f]+)\}")


def report_pdf(report: Report, paper: Paper = Paper.A4) -> bytes:
    """ReportError: a character that no font on this machine has."""
    charts = [(chart.caption, _drawn(place, chart)) for place, chart in enumerate(report.charts)]
    return typeset("report.typ", paper, {"report": as_json(report), "charts": charts}, moment_of(report))


def sheet_pdf(report: Report, paper: Paper = Paper.A4) -> bytes:
    """One page for the customer, more only where the smallest type does not fit. Errors as `report_pdf`."""
    return typeset("sheet.typ", paper, {"report": as_json(report)}, moment_of(report))


def moment_of(report: Report) -> datetime:
    """What a PDF calls its creation, to the second."""
    return (report.header.issued or report.header.began).replace(microsecond=0)


def typeset(template: str, paper: Paper, content: Mapping[str, Any], made_at: datetime) -> bytes:
    """The same content and moment give the same bytes. ReportError as for `report_pdf`."""
    data = {"paper": _PAPERS[paper], "fonts": [_FONT], "marks": _MARKS, **content}
    try:
        made = typst.compile(
            _TEMPLATES / template,
            root=_TEMPLATES,
            format="pdf",
            sys_inputs={"data": json.dumps(data)},
            pdf_standards=_STANDARD,
            timestamp=made_at,
        )
    except typst.TypstError as error:
        raise ReportError(_why(str(error))) from error
    assert isinstance(made, bytes)
    return made


_PAPERS = {Paper.A4: "a4", Paper.LETTER: "us-letter"}
_MARKS = {
    str(standing): (drawing(standing, _INK.get(standing, _QUIET)), _INK.get(standing, _QUIET))
    for standing in Standing
    if standing
}


def _drawn(place: int, chart: Chart) -> str:
    return chart_svg(chart.trace, f"chart{place}").replace("sans-serif", _FONT)


def _why(said: str) -> str:
    lacking = list(dict.fromkeys(_UNSHOWN.findall(said)))
    if not lacking:
        return f"The report cannot be set: {said}"
    named = ", ".join(_named(_ESCAPED.sub(lambda found: chr(int(found[1], 16)), one)) for one in lacking)
    return f"No font on this machine has {named}. Install one that has, or take the report as HTML."


def _named(text: str) -> str:
    return f"{text!r} ({' '.join(f'U+{ord(one):04X}' for one in text)})"
