"""The report of a session, and what a report and an export share: the session itself and whole files."""

from meterlog.report.errors import NotIssued, ReportError
from meterlog.report.issue import issued_again
from meterlog.report.open import open_session
from meterlog.report.paper import Paper
from meterlog.report.whole_file import whole_file
from meterlog.report.write import Form, write_issued, write_report

__all__ = [
    "Form",
    "NotIssued",
    "Paper",
    "ReportError",
    "issued_again",
    "open_session",
    "whole_file",
    "write_issued",
    "write_report",
]
