"""One trimmer, one meter and, where the person is guided, the real engine: in virtual time.

What is drawn for a case (all ranges assumed, from what is usual on benches):

* meter: 2.5 to 10 readings a second; 6000, 20000 or 50000 counts; scatter 0.02 to 0.3 % of the reading and
  0.3 counts; first-order averaging of 0 to 0.5 s. Its range is fixed, so that no range change disturbs.
* trimmer: 3/4, 4 or 12 turns for 10 to 24 dB, 0.1 to 0.4 % of its travel as backlash.
* adjust: from 1 to 4 dB below or above to 0.775 V, within 0.1 dB. Decibels are linear in the travel.
* back-off: 1 dB beyond a maximum, within 0.1 dB. The level falls with the square of the distance (the
  top of any smooth peak): 1 dB at 6 to 14 % of the travel, on the near side 0.7 to 1.4 times as wide.
"""

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Reading, State
from meterlog.simulate.meter import MeterModel, MeterPlan
from meterlog.simulate.unit import Trimmer

STEP_S = 0.02
NS = 1_000_000_000
TARGET_VOLTS, TOLERANCE_DB, FALL_DB = 0.775, 0.1, 1.0


class Job(StrEnum):
    ADJUST = "adjust"
    BACK_OFF = "back-off"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What a run is about. `level_volts`: from the wiper (share of travel) to the true level.

    db_per_degree  of the screw, where the job ends
    sweep_deg_s    how fast a hand that watches would turn: 1 dB of a peak in 2.5 s, 0.8 dB/s elsewhere
    """

    job: Job
    meter: MeterPlan
    period_s: float
    degrees: float
    trimmer: Trimmer
    level_volts: Callable[[float], float]
    target_volts: float
    db_per_degree: float
    sweep_deg_s: float


def db(volts: float, reference_volts: float) -> float:
    return 20.0 * math.log10(max(volts, 1e-6) / reference_volts)


def case_of(job: Job, seed: int) -> Case:
    """The same case for every condition."""
    dice = random.Random(f"feel {job} {seed}")
    filter_s = max(1e-3, dice.uniform(0.0, 0.5))
    noise = 0.0002 * (0.003 / 0.0002) ** dice.random()
    full, counts = dice.choice(((6.0, 6000), (2.0, 20_000), (5.0, 50_000)))
    meter = MeterPlan(
        ranges_volts=(full,), counts=counts, filter_s=filter_s, noise_counts=0.3, noise_of_value=noise
    )
    period_s = 0.1 * 4.0 ** dice.random()
    degrees = 360.0 * dice.choice((0.75, 4.0, 12.0))
    slack = dice.uniform(0.001, 0.004)
    draw = _slope if job is Job.ADJUST else _peak
    return draw(dice, meter, period_s, degrees, slack)


def _slope(dice: random.Random, meter: MeterPlan, period_s: float, degrees: float, slack: float) -> Case:
    range_db = dice.uniform(10.0, 24.0)
    start_db = dice.choice((-1.0, 1.0)) * dice.uniform(1.0, 4.0)
    slope = range_db / degrees
    return Case(
        job=Job.ADJUST,
        meter=meter,
        period_s=period_s,
        degrees=degrees,
        trimmer=Trimmer(0.5, 0.5 + dice.uniform(-0.5, 0.5) * slack, slack),
        level_volts=lambda wiper: TARGET_VOLTS * 10.0 ** ((start_db + range_db * (wiper - 0.5)) / 20.0),
        target_volts=TARGET_VOLTS,
        db_per_degree=slope,
        sweep_deg_s=0.8 / slope,
    )


def _peak(dice: random.Random, meter: MeterPlan, period_s: float, degrees: float, slack: float) -> Case:
    width = dice.uniform(0.06, 0.14)
    near_width = width * dice.uniform(0.7, 1.4)
    peak_volts = dice.uniform(0.6, 1.2)
    start = 0.5 - near_width * math.sqrt(dice.uniform(1.5, 5.0))

    def level_volts(wiper: float) -> float:
        way = (wiper - 0.5) / (width if wiper > 0.5 else near_width)
        return peak_volts * math.pow(10.0, -FALL_DB * way * way / 20.0)

    return Case(
        job=Job.BACK_OFF,
        meter=meter,
        period_s=period_s,
        degrees=degrees,
        trimmer=Trimmer(start, start + dice.uniform(-0.5, 0.5) * slack, slack),
        level_volts=level_volts,
        target_volts=peak_volts * 10.0 ** (-FALL_DB / 20.0),
        db_per_degree=2.0 * FALL_DB / (width * degrees),
        sweep_deg_s=width * degrees / 2.5,
    )


@dataclass(frozen=True, slots=True)
class Display:
    """What the meter shows; `number` counts the readings."""

    volts: float
    number: int


class Bench:
    """`step` lets time pass; a new reading comes back when the meter has one. `turn` is the hand's."""

    def __init__(self, case: Case, seed: str) -> None:
        self.case = case
        self.now_s = 0.0
        self.first_touch_s: float | None = None
        self.display = Display(0.0, 0)
        self._trimmer = replace(case.trimmer)
        self._levels = [case.level_volts(self._trimmer.wiper)]
        self._meter = MeterModel(case.meter, self._past_volts, seed)
        self._due_s = case.period_s

    @property
    def error_db(self) -> float:
        """How far the true level is from where it should be."""
        return db(self._levels[-1], self.case.target_volts)

    def turn(self, degrees: float) -> None:
        if self.first_touch_s is None:
            self.first_touch_s = self.now_s
        self._trimmer = self._trimmer.turned(degrees / self.case.degrees)

    def step(self) -> Reading | None:
        self._levels.append(self.case.level_volts(self._trimmer.wiper))
        self.now_s = (len(self._levels) - 1) * STEP_S
        if self.now_s < self._due_s:
            return None
        self._due_s += self.case.period_s
        return self._reading()

    def _past_volts(self, at_s: float) -> float:
        return self._levels[max(0, min(len(self._levels) - 1, round(at_s / STEP_S)))]

    def _reading(self) -> Reading:
        shown = self._meter.indicate(self.now_s)
        volts = shown.value
        seen = shown.range_volts if volts is None else volts  # overload is seen as at least full scale
        self.display = Display(seen, self.display.number + 1)
        now_ns = round(self.now_s * NS)
        return Reading(
            channel="output",
            time_ns=now_ns,
            monotonic_ns=now_ns,
            value=volts,
            unit=Unit.VOLT,
            state=State.OVERLOAD if volts is None else State.OK,
            coupling=Coupling.AC,
            resolution=shown.resolution,
            range_max=shown.range_volts,
        )
