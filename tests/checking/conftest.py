"""The drivers of this project, installed for the test even where only the source is there."""

from tests.bench.conftest import offer
from tests.wire.conftest import real_drivers

__all__ = ["offer", "real_drivers"]
