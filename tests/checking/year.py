"""The demonstration's year of weekly checks, on fixed dates, and sessions that tell only whose meter
they had."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from meterlog.demo.year import BENCH, REFERENCE_V, SCATTER, STEADY, ns
from meterlog.demo.year import Year as AnyYear
from meterlog.records import Instrument, Writer
from tests.records import samples

__all__ = ["REFERENCE_V", "SCATTER", "STEADY", "Year", "session", "week"]

FIRST = datetime(2026, 1, 5, 9, tzinfo=UTC)


def week(number: int) -> datetime:
    """From 0."""
    return FIRST + timedelta(weeks=number)


class Year(AnyYear):
    def __init__(self, folder: Path, per_week: float, seed: int) -> None:
        super().__init__(folder, per_week, seed, FIRST)


def session(writer: Writer, at: datetime, *, meter: str = "bench meter", serial: str = "S-001") -> int:
    """One session that ran for a minute with the meter, and took two values with it."""
    start = replace(samples.START, began_time_ns=ns(at), bench_text=BENCH)
    number = writer.begin_session(start)
    seen = Instrument(meter=meter, driver="scpi", serial_number=serial, seen_time_ns=ns(at), since_sequence=1)
    writer.instrument(number, seen)
    writer.event(number, 1, samples.measured(60 * 10**9))
    writer.commit(number, 1, [samples.settled(1), samples.settled(2)])
    return number
