"""From what a link says of its meter to the record's line about an instrument."""

from meterlog.bench import Bench, LinkStatus
from meterlog.records import Instrument


def instrument_of(
    status: LinkStatus, bench: Bench, seen_time_ns: int, since_sequence: int
) -> Instrument | None:
    """None while the meter has not said who it is. One that is refused has, too."""
    identity = status.refused or status.identity
    if identity is None:
        return None
    meter = next(one for one in bench.meters if one.name == status.meter)
    return Instrument(
        meter=meter.name,
        driver=meter.driver,
        maker=identity.maker,
        model=identity.model,
        serial_number=identity.serial_number or meter.serial_number,
        version=identity.version,
        text=identity.text,
        calibrated=str(meter.calibrated or ""),
        seen_time_ns=seen_time_ns,
        since_sequence=since_sequence,
    )
