"""What is known of the meters behind the channels of a bench: what says how sure their values are."""

from collections.abc import Iterable, Mapping
from datetime import date

from meterlog.accuracy import Conditions, InUse, Profile, Specification
from meterlog.bench.bench_model import Channel


def in_use(
    channels: Iterable[Channel],
    specifications: Mapping[str, Specification],
    profiles: Mapping[str, Profile],
) -> dict[str, InUse]:
    """By the names of the channels, as those of `profiles` are; where it is known what their meters can do,
    by the meters' names."""
    return {
        channel.name: InUse(
            meter=channel.meter,
            specification=specifications[channel.meter],
            function=channel.function,
            coupling=channel.coupling,
            range_max=channel.range.base if channel.range else None,
            lowest_hz=channel.ac_filter.base if channel.ac_filter else 0.0,
            profile=profiles.get(channel.name),
            correct=channel.correct,
        )
        for channel in channels
        if channel.meter in specifications
    }


def conditions(
    channels: Iterable[Channel],
    calibrated: Mapping[str, date],
    profiles: Mapping[str, Profile],
    today: date,
    temperature_c: float | None = None,
) -> dict[str, Conditions]:
    """By the names of the channels, as far as they are known: how old the calibrations of their meters are
    (by the meters' names), and their profiles; and the temperature of the place."""
    measured = {name: profile.measured for name, profile in profiles.items()}
    return {
        channel.name: Conditions(
            temperature_c=temperature_c,
            days_since_calibration=_days(calibrated.get(channel.meter), today),
            days_since_profile=_days(measured.get(channel.name), today),
        )
        for channel in channels
    }


def _days(since: date | None, today: date) -> float | None:
    return None if since is None else float((today - since).days)
