"""See `meterlog.testing`."""

from meterlog.testing import Chunks, FakeClock, FakeWire

__all__ = ["Chunks", "FakeClock", "FakeWire"]
