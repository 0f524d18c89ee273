"""Checks made up for a test: an error on a day."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from meterlog.records import MeterCheck
from tests.records.test_meter_checks import CHECK

FIRST = datetime(2026, 1, 5, 9, tzinfo=UTC)


def check(
    day: float, error: float, *, meter: str = "A", allowed: float | None = 1.0, **more: object
) -> MeterCheck:
    """So many days after the first Monday of 2026; of 10 V, with uncertainties of 0.06 and 0.08 V (k = 2)."""
    at_ns = int((FIRST + timedelta(days=day)).timestamp() * 1e9)
    made = replace(
        CHECK, time_ns=at_ns, meter=meter, serial_number="", reference_value=10.0, reference_uncertainty=0.06,
        reference_factor=2.0, indicated=10.0 + error, standard_uncertainty=0.04, expanded_uncertainty=0.08,
        resolution=0.0, allowed=allowed, temperature_c=None,
    )  # fmt: skip
    return replace(made, **more)  # type: ignore[arg-type]
