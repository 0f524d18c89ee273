"""The report of a session as a file."""

from pathlib import Path

from sqlalchemy import Engine

from meterlog.report.build import build_report
from meterlog.report.html import report_html
from meterlog.report.open import open_session
from meterlog.report.whole_file import whole_file


def write_report(engine: Engine, session_id: int, path: Path) -> None:
    """One HTML file with everything in it; a file that stands there is replaced whole or not at all.

    RecordsError: no such session. ReportError: the file cannot be written.
    """
    page = report_html(build_report(open_session(engine, session_id)))
    with whole_file(path) as draft:
        draft.write_text(page, encoding="utf-8")
