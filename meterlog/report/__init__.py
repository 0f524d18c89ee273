"""The report of a session, and what a report and an export share: the session itself and whole files."""

from meterlog.report.errors import ReportError
from meterlog.report.open import open_session
from meterlog.report.paper import Paper
from meterlog.report.whole_file import whole_file
from meterlog.report.write import Form, write_report

__all__ = ["Form", "Paper", "ReportError", "open_session", "whole_file", "write_report"]
