"""See `meterlog.testing`."""

from meterlog.testing import Terminal

__all__ = ["Terminal"]
