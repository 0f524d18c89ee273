"""A session's values in the files that other programs read."""

from meterlog.export.write import FORMATS, write_export

__all__ = ["FORMATS", "write_export"]
