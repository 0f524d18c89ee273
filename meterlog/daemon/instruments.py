"""From what a link says of its meter to the record's line about an instrument."""

from meterlog.bench import Bench, LinkStatus
from meterlog.records import Instrument


def instrument_of(
    status: LinkStatus, bench: Bench, seen_time_ns: int, since_sequence: int
) -> Instrument | None:
    """None while the meter has not said who it is."""
    if status.identity is None:
        return None
    meter = next(one for one in bench.meters if one.name == status.meter)
    return Instrument(
        meter=meter.name,
        driver=meter.driver,
        maker=status.identity.maker,
        model=status.identity.model,
        serial_number=status.identity.serial_number or meter.serial_number,
        version=status.identity.version,
        text=status.identity.text,
        calibrated=str(meter.calibrated or ""),
        seen_time_ns=seen_time_ns,
        since_sequence=since_sequence,
    )
