"""See `meterlog.testing`."""

from meterlog.testing import Cable, Chunks, FarEnd, Instrument
from meterlog.testing import Numbered as Asked

__all__ = ["Asked", "Cable", "Chunks", "FarEnd", "Instrument"]
