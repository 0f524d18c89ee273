"""What can go wrong while a report or an export is made."""

from meterlog.errors import MeterlogError


class ReportError(MeterlogError):
    """The report or the export cannot be made or written; the text says what to do about it."""


class NotIssued(ReportError):  # noqa: N818 - a state of affairs, not a fault of the program
    """No such report was issued, or its file is not in the record."""
