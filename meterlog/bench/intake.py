"""From what a meter showed to a reading of its channel; another function of the meter never becomes one."""

from dataclasses import replace

from meterlog.bench.bench_model import Channel
from meterlog.bench.clock import Clock, utc_of
from meterlog.bench.functions import misfit
from meterlog.reading import Indication, Reading, State


def reading_of(indication: Indication, channel: Channel, clock: Clock) -> tuple[Reading, str]:
    """The reading, and how it contradicts the channel ("" if it does not; otherwise it is INVALID)."""
    contradiction = misfit(indication, channel.function, channel.coupling)
    if contradiction:
        indication = replace(indication, state=State.INVALID, value=None)
        contradiction = contradiction.replace("wants", f"channel {channel.name!r} wants")
    time_ns = utc_of(indication.monotonic_ns, clock)
    return Reading.of(indication, channel=channel.name, time_ns=time_ns), contradiction
