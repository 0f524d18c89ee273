"""The drivers of this project, installed for the test even where only the source is there."""

import pytest

from tests.bench.conftest import Offer, offer

__all__ = ["offer"]


@pytest.fixture
def real_drivers(offer: Offer) -> None:
    entries = "fs9721 = meterlog_drivers.handheld.fs9721:driver\nscpi = meterlog_drivers.scpi.driver:driver"
    offer("meterlog_source", entries, "")
