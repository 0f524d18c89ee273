"""Errors of the procedure room. A file that cannot be used is a `meterlog.files.FileError`."""

from meterlog.errors import MeterlogError
from meterlog.files import FileError


class ProcedureError(FileError):
    """The procedure file cannot be used."""


class IllegalAction(MeterlogError):  # noqa: N818 - not a fault of the program but of the moment
    """The operator asked for something that this moment does not allow; nothing has changed."""
