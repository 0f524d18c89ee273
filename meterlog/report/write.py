"""The report of a session as a file."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Engine

from meterlog.records import add_issued
from meterlog.report.build import build_report
from meterlog.report.errors import ReportError
from meterlog.report.html import report_html, sheet_html
from meterlog.report.issue import issued_again, issued_of, under_number
from meterlog.report.model import Issue, Report
from meterlog.report.open import open_session
from meterlog.report.paper import Paper
from meterlog.report.session import Session
from meterlog.report.whole_file import whole_file


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """How a report is to look: one page for the customer or all of it, on which paper, to whom.

    issue     it is handed over: it gets a number, and the record keeps that
    replaces  number of the report that it stands in for, and why (`because`); then it is issued too
    """

    sheet: bool = False
    paper: Paper = Paper.A4
    customer: str = ""
    issue: bool = False
    replaces: str = ""
    because: str = ""

    @property
    def kind(self) -> str:
        return "sheet" if self.sheet else "report"

    @property
    def is_issued(self) -> bool:
        return self.issue or bool(self.replaces or self.because)


def write_report(engine: Engine, session_id: int, path: Path, form: Form | None = None) -> str:
    """One file with everything in it, PDF if its name ends so and else HTML, issued now; a file that stands
    there is replaced whole or not at all. Of an issued one the record keeps the file, and its other form too
    where that can be made.

    The number under which it was issued, "" if it was not. RecordsError: no such session. NotStored: it was
    not issued, and no file written. ReportError: the file cannot be written, no font has its characters, or
    it cannot be issued (`under_number`).
    """
    form = form or Form()
    session = open_session(engine, session_id)
    issue = _issue(session, form)
    report = build_report(session, issue)
    own = form_of(path)
    made = _MAKERS[own](report, form)
    with whole_file(path) as draft:
        draft.write_bytes(made)
        if issue.number:
            files = {own: made} | _other_forms(own, report, form)
            add_issued(engine, issued_of(report, session_id, form.kind, issue, made), files)
    return issue.number


def write_issued(engine: Engine, session_id: int, number: str, path: Path) -> None:
    """One that was issued, byte for byte as it was, in the form that the file's name ends in.

    NotIssued: it was not, or the record does not keep it so. ReportError: the file cannot be written.
    """
    made = issued_again(engine, session_id, number, form_of(path))
    with whole_file(path) as draft:
        draft.write_bytes(made)


def form_of(path: Path) -> str:
    """pdf if its name ends so, else html."""
    return "pdf" if path.suffix.lower() == ".pdf" else "html"


def _other_forms(own: str, report: Report, form: Form) -> dict[str, bytes]:
    other = "html" if own == "pdf" else "pdf"
    try:
        return {other: _MAKERS[other](report, form)}
    except ReportError:  # a character that no font has: HTML is then all there is
        return {}


def _issue(session: Session, form: Form) -> Issue:
    issue = Issue(
        at=datetime.now().astimezone(session.zone),
        customer=form.customer.strip(),
        replaces=form.replaces.strip(),
        because=form.because.strip(),
    )
    return under_number(session, form.kind, issue, session.issued) if form.is_issued else issue


def _html(report: Report, form: Form) -> bytes:
    return (sheet_html if form.sheet else report_html)(report).encode("utf-8")


def _pdf(report: Report, form: Form) -> bytes:
    from meterlog.report.pdf import report_pdf, sheet_pdf  # noqa: PLC0415 - only who wants paper needs it

    return (sheet_pdf if form.sheet else report_pdf)(report, form.paper)


_MAKERS = {"html": _html, "pdf": _pdf}
