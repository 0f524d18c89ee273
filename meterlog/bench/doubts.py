"""Warnings about a bench file: what can be used as it stands, and is probably not what was meant."""

from collections.abc import Iterator
from datetime import date

from meterlog.bench.bench_file import Bench
from meterlog.files import Location, Problem, Severity


def doubts_about(bench: Bench, file: str, today: date) -> Iterator[Problem]:
    """A warning for each, with line and field; `file` is the name that they show."""
    for place, what in (*_days_to_come(bench, today), *_same_serial_numbers(bench)):
        yield Problem.at(place, what, bench.text, file, Severity.WARNING)


def _days_to_come(bench: Bench, today: date) -> Iterator[tuple[Location, str]]:
    """Nothing was calibrated or measured on a day that is still to come."""
    for index, meter in enumerate(bench.meters):
        if meter.calibrated and meter.calibrated > today:
            what = f"{meter.calibrated} is still to come: taken as not known, the longest time counts"
            yield ("meter", index, "calibrated"), what
    for index, channel in enumerate(bench.channels):
        profile = bench.profiles.get(channel.name)
        if profile and profile.measured > today:
            what = f"it says that it was measured on {profile.measured}, which is still to come"
            yield ("channel", index, "profile"), what


def _same_serial_numbers(bench: Bench) -> Iterator[tuple[Location, str]]:
    """Two makers may use one number; more often a table was copied and its number left."""
    first: dict[str, str] = {}
    for index, meter in enumerate(bench.meters):
        number = meter.serial_number.strip()
        if number and number in first:
            what = f"{number!r} is the serial number of {first[number]!r} too; look at both plates"
            yield ("meter", index, "serial_number"), what
        first.setdefault(number, meter.name)
