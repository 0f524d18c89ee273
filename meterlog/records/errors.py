"""What can be wrong with the record.

RecordsError
└── NotStored   it is in memory but not on disk yet; the writer keeps trying
"""

from meterlog.errors import MeterlogError


class RecordsError(MeterlogError):
    """The record cannot be used as asked; the text says why and what to do."""


class NotStored(RecordsError):  # noqa: N818 - what is so, as the person is told it
    """The disk did not take it. Nothing is lost while the daemon runs; nothing may be announced either."""
