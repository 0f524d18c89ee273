"""A year of weekly checks of a simulated meter, in made-up dates, and the sessions that it serves meanwhile.

The readings of the simulated meter go through the detectors and the engine as in the daemon; only wires and
waiting are left out. All figures are invented: a reference of 10 V, a meter whose gain scatters from week to
week by 8 ppm.
"""

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import Engine

from meterlog.bench import Bench, load_bench
from meterlog.checking.points_file import Points, load_points_text
from meterlog.checking.result import Taken, Told, check_of, stillness
from meterlog.checking.setting import Setting, setting_of
from meterlog.checking.steady import Capture, Steady
from meterlog.demo.programs import DemoError
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Identity, Reading, State
from meterlog.records import MeterCheck, Papers, add_meter_check
from meterlog.simulate.meter import MeterModel
from meterlog.simulate.scpi_plans import DC_PLAN

SCATTER = 8e-6  # of the gain, from one week to the next
STEADY = 20  # weeks, before the gain begins to grow
REFERENCE_V = 10.0
METER = "bench meter"
_PERIOD_S = 0.12
_SERIAL = "S-001"
_MOST_READINGS = 500

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
coupling = "dc"
range = "10 V"
"""


def ns(moment: datetime) -> int:
    """UTC, in whole seconds."""
    return int(moment.timestamp()) * 10**9


class Year:
    """`per_week`: by how much the gain grows in each week after the first STEADY; `first`: first check."""

    def __init__(self, folder: Path, per_week: float, seed: int, first: datetime) -> None:
        path = folder / "bench.toml"
        path.write_text(BENCH, encoding="utf-8")
        self.bench: Bench = load_bench(path)
        self.points: Points = load_points_text(POINTS, "points.toml")
        self._setting: Setting = setting_of(self.points.points[0], self.bench, METER)
        self._per_week, self._chance, self._first = per_week, random.Random(seed), first  # noqa: S311
        self.gain = 1.0

    def week(self, number: int) -> datetime:
        """From 0."""
        return self._first + timedelta(weeks=number)

    def check(self, number: int) -> MeterCheck:
        """That of a week, from 0. `gain` is the meter's from then on."""
        grown = self._per_week * max(0, number - STEADY + 1)
        self.gain = 1.0 + grown + self._chance.gauss(0.0, SCATTER)
        capture = settled(self._setting, self.gain, self.week(number), f"{number}")
        identity = Identity(serial_number=_SERIAL, text="SIMULATED BENCH,6.5-digit meter,S-001,1.0")
        return check_of(self.points, self._setting, Taken(capture, identity), Told(temperature_c=23.0))

    def papers(self) -> Papers:
        text = self.bench.specification_texts[METER]
        return Papers(points=self.points.text, bench=self.bench.text, specification=text)

    def kept(self, record: Engine, weeks: int) -> list[MeterCheck]:
        """The checks of so many weeks, each stored."""
        checks = [self.check(number) for number in range(weeks)]
        for check in checks:
            add_meter_check(record, check, self.papers())
        return checks


def readings(gain: float, at: datetime, seed: str, channel: str) -> Iterator[Reading]:
    """Of the simulated meter on the reference, every 0.12 s of made-up time."""
    plan = replace(DC_PLAN, noise_counts=2.0, noise_of_value=2e-6)
    model = MeterModel(plan, lambda _: REFERENCE_V, seed)
    model.gain = gain
    model.fix_range(REFERENCE_V)
    for number in range(_MOST_READINGS):
        shown, at_ns = model.indicate(number * _PERIOD_S), round(number * _PERIOD_S * 1e9)
        yield Reading(
            monotonic_ns=at_ns, time_ns=ns(at) + at_ns, channel=channel, value=shown.value, unit=Unit.VOLT,
            state=State.OK, coupling=Coupling.DC, resolution=shown.resolution, range_max=10.0,
        )  # fmt: skip


def settled(setting: Setting, gain: float, at: datetime, seed: str) -> Capture:
    """What the simulated meter settles at."""
    steady = Steady(stillness(setting), setting.point.dwell)
    for reading in readings(gain, at, seed, "checked"):
        steady.take(reading)
        if (capture := steady.capture) is not None:
            return capture
    raise DemoError(steady.why_not(str))
