"""A year of weekly checks of a simulated meter, in virtual dates, and the sessions it served meanwhile.

Readings of the simulated meter go through the settled detector as in a run; only wires and waiting are left
out. All figures are invented: a reference of 10 V, a meter whose gain scatters from week to week by 8 ppm.
"""

import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import Engine

from meterlog.bench import Bench, load_bench
from meterlog.checking.points_file import Points, load_points_text
from meterlog.checking.result import Taken, Told, check_of, stillness
from meterlog.checking.setting import Setting, setting_of
from meterlog.checking.steady import Capture, Steady
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Identity, Reading, State
from meterlog.records import Instrument, MeterCheck, Papers, Writer, add_meter_check
from meterlog.simulate.meter import MeterModel
from meterlog.simulate.scpi_plans import PLAN
from tests.records import samples

SCATTER = 8e-6  # of the gain, from one week to the next
STEADY = 20
FIRST = datetime(2026, 1, 5, 9, tzinfo=UTC)
REFERENCE_V = 10.0

POINTS = """
[checks]
title = "Weekly look"
[[reference]]
name = "source"
[[point]]
name = "10 V dc"
coupling = "dc"
range = "10 V"
reference = "source"
value = "10 V"
uncertainty = "50 uV"
settle = "150 uV"
dwell = "1 s"
"""
BENCH = """
[bench]
name = "Bench 1"
[[meter]]
name = "bench meter"
driver = "scpi"
address = "TCPIP::127.0.0.1::9::SOCKET"
serial_number = "S-001"
specification = "bench-6.5-digits"
calibrated = 2026-01-01
[[channel]]
name = "output"
meter = "bench meter"
coupling = "ac"
"""


def week(number: int) -> datetime:
    """From 0."""
    return FIRST + timedelta(weeks=number)


def ns(moment: datetime) -> int:
    return int(moment.timestamp()) * 10**9


class Year:
    """`per_week`: by how much the gain grows in each week after the first STEADY."""

    def __init__(self, folder: Path, per_week: float, seed: int) -> None:
        path = folder / "bench.toml"
        path.write_text(BENCH)
        self.bench: Bench = load_bench(path)
        self.points: Points = load_points_text(POINTS, "points.toml")
        self._setting: Setting = setting_of(self.points.points[0], self.bench, "bench meter")
        self._per_week, self._chance = per_week, random.Random(seed)

    def check(self, number: int) -> MeterCheck:
        """That of a week, from 0."""
        grown = self._per_week * max(0, number - STEADY + 1)
        gain = 1.0 + grown + self._chance.gauss(0.0, SCATTER)
        capture = settled(self._setting, gain, week(number), f"{number}")
        identity = Identity(serial_number="S-001", text="SIMULATED BENCH,6.5-digit meter,S-001,1.0")
        return check_of(self.points, self._setting, Taken(capture, identity), Told(temperature_c=23.0))

    def papers(self) -> Papers:
        text = self.bench.specification_texts["bench meter"]
        return Papers(points=self.points.text, bench=self.bench.text, specification=text)

    def kept(self, record: Engine, weeks: int) -> list[MeterCheck]:
        checks = [self.check(number) for number in range(weeks)]
        for check in checks:
            add_meter_check(record, check, self.papers())
        return checks


def settled(setting: Setting, gain: float, at: datetime, seed: str) -> Capture:
    """What the simulated meter settles at; its readings come every 0.12 s of virtual time."""
    plan = replace(PLAN, gain=gain, noise_counts=2.0, noise_of_value=2e-6)
    model, steady = (
        MeterModel(plan, lambda _: REFERENCE_V, seed),
        Steady(stillness(setting), setting.point.dwell),
    )
    model.fix_range(REFERENCE_V)
    for number in range(500):
        shown = model.indicate(number * 0.12)
        steady.take(_reading(round(number * 0.12 * 1e9), ns(at), shown.value, shown.resolution))
        if (capture := steady.capture) is not None:
            return capture
    raise AssertionError(steady.why_not(str))


def _reading(at_ns: int, began_ns: int, value: float | None, count: float) -> Reading:
    return Reading(
        monotonic_ns=at_ns, time_ns=began_ns + at_ns, channel="checked", value=value, unit=Unit.VOLT,
        state=State.OK, coupling=Coupling.DC, resolution=count, range_max=10.0,
    )  # fmt: skip


def session(writer: Writer, at: datetime, *, meter: str = "bench meter", serial: str = "S-001") -> int:
    """One session that ran for a minute with the meter, and took two values with it."""
    start = replace(samples.START, began_time_ns=ns(at), bench_text=BENCH)
    number = writer.begin_session(start)
    seen = Instrument(meter=meter, driver="scpi", serial_number=serial, seen_time_ns=ns(at), since_sequence=1)
    writer.instrument(number, seen)
    writer.event(number, 1, samples.measured(60 * 10**9))
    writer.commit(number, 1, [samples.settled(1), samples.settled(2)])
    return number
