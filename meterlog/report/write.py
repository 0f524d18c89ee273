"""The report of a session as a file."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Engine

from meterlog.report.build import build_report
from meterlog.report.html import report_html, sheet_html
from meterlog.report.model import Issue, Report
from meterlog.report.open import open_session
from meterlog.report.paper import Paper
from meterlog.report.whole_file import whole_file


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """How a report is to look: one page for the customer or all of it, on which paper, to whom."""

    sheet: bool = False
    paper: Paper = Paper.A4
    customer: str = ""


def write_report(engine: Engine, session_id: int, path: Path, form: Form | None = None) -> None:
    """One file with everything in it, PDF if its name ends so and else HTML, issued now; a file that stands
    there is replaced whole or not at all.

    RecordsError: no such session. ReportError: the file cannot be written, or no font has its characters.
    """
    form = form or Form()
    session = open_session(engine, session_id)
    report = build_report(session, Issue(datetime.now().astimezone(session.zone), form.customer.strip()))
    made = _pdf(report, form) if path.suffix.lower() == ".pdf" else _html(report, form)
    with whole_file(path) as draft:
        draft.write_bytes(made)


def _html(report: Report, form: Form) -> bytes:
    return (sheet_html if form.sheet else report_html)(report).encode("utf-8")


def _pdf(report: Report, form: Form) -> bytes:
    from meterlog.report.pdf import report_pdf, sheet_pdf  # noqa: PLC0415 - only who wants paper needs it

    return (sheet_pdf if form.sheet else report_pdf)(report, form.paper)
