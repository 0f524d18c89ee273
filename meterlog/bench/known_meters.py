"""What is known of the meters behind the channels of a bench: what says how sure their values are."""

from collections.abc import Iterable, Mapping
from datetime import date

from meterlog.accuracy import Conditions, InUse, Specification
from meterlog.bench.bench_model import Channel


def in_use(channels: Iterable[Channel], specifications: Mapping[str, Specification]) -> dict[str, InUse]:
    """By the names of the channels, where it is known what their meters can do (by the meters' names)."""
    return {
        channel.name: InUse(
            meter=channel.meter,
            specification=specifications[channel.meter],
            function=channel.function,
            coupling=channel.coupling,
            range_max=channel.range.base if channel.range else None,
            lowest_hz=channel.ac_filter.base if channel.ac_filter else 0.0,
        )
        for channel in channels
        if channel.meter in specifications
    }


def conditions(
    channels: Iterable[Channel],
    calibrated: Mapping[str, date],
    today: date,
    temperature_c: float | None = None,
) -> dict[str, Conditions]:
    """By the names of the channels: how old the calibrations of their meters are, where that is known, and
    the temperature of the place."""
    ages = {name: float((today - day).days) for name, day in calibrated.items()}
    return {
        channel.name: Conditions(temperature_c=temperature_c, days_since_calibration=ages.get(channel.meter))
        for channel in channels
    }
