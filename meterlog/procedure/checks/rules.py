"""What a decision rule brings with it that a person should have meant."""

from collections.abc import Iterator

from meterlog.accuracy.guard_band import TimesU
from meterlog.procedure.checks.finding import Finding, warning
from meterlog.procedure.model import Procedure


def uncritical(procedure: Procedure) -> Iterator[Finding]:
    band = procedure.head.guard_band
    if isinstance(band, TimesU) and band.factor < 0.0:
        width = TimesU(-band.factor)
        message = f"values outside the limits by less than {width} pass; write {width} if they should not"
        yield warning(("procedure", "guard_band"), message)
