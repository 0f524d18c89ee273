"""A driver behind a real link, in real time."""

from collections.abc import Iterator
from contextlib import contextmanager

from meterlog.bench import Channel, Link, LinkState, MeterEntry, SystemClock
from meterlog.files import LineTable
from meterlog.testing.live import LiveMeter
from meterlog.testing.specimen import Specimen
from meterlog.testing.witness import HURRIED, Witness

PATIENCE = 10.0
"""Times `longest_s`: connecting may take that, and the machine may be busy."""


def comes_back(specimen: Specimen) -> None:
    """Unplugged while it is read, and plugged in again: lost, then read once more."""
    with _linked(specimen) as (meter, _, witness):
        witness.wait_for_readings(2)
        meter.plugged = False
        witness.wait_for_state(LinkState.LOST)
        meter.plugged = True
        witness.wait_for_readings(2)


def stops_in_time(specimen: Specimen) -> None:
    """The far end hangs in the middle of the work."""
    with _linked(specimen) as (meter, link, witness):
        witness.wait_for_readings(2)
        meter.hanging = True
        seconds = specimen.longest_s
        assert link.stop(seconds), f"the far end hangs, and the driver has not come back after {seconds:g} s"


@contextmanager
def _linked(specimen: Specimen) -> Iterator[tuple[LiveMeter, Link, Witness]]:
    meter, witness = LiveMeter(specimen), Witness(PATIENCE * specimen.longest_s)
    link = Link(
        _entry(specimen),
        [_channel(specimen)],
        specimen.driver,
        SystemClock(),
        deliver=witness.deliver,
        on_state=witness.on_state,
        open_wire=meter.open,
        pace=HURRIED,
    )
    link.start()
    try:
        yield meter, link, witness
    finally:
        meter.plugged = False
        link.stop(specimen.longest_s)


def _entry(specimen: Specimen) -> MeterEntry:
    """Without the checks of a bench file: the driver need not be installed."""
    return MeterEntry.model_construct(
        name="meter",
        driver=specimen.driver.name,
        address="/dev/none",
        identity="",
        dialect=specimen.settings.dialect,
        line=LineTable(),
        options=dict(specimen.settings.options),
    )


def _channel(specimen: Specimen) -> Channel:
    wanted = specimen.settings
    return Channel.model_construct(
        name="channel",
        meter="meter",
        function=wanted.function,
        coupling=wanted.coupling,
        range=None,
        ac_filter=None,
        display=1,
    )
