"""The cases of the trial: what is measured with what, and what counts as held."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from random import Random

from meterlog.accuracy import Statement
from meterlog.procedure import Procedure, SettledValue, load_procedure_text
from meterlog.quantity import DBU, GAIN, Scale
from meterlog.report.shown import scale_for, sides
from tests.trials.coverage.bench import Meter, Point, Session

HEAD = """
[procedure]
title = "Coverage"
revision = "1"
unit = "Unit"
[[channel]]
name = "output"
unit = "V"
show = "dBu"
"""
LEVEL = """
[[step]]
id = "{name}"
title = "Level"
pattern = "measure"
channel = "output"
settle = "{settle}"
dwell = "0.8 s"
"""
ABOUT = """
[[step]]
id = "lower"
title = "One decibel less"
pattern = "measure"
channel = "output"
reference = "level"
target = "-1 dB"
tolerance = "0.5 dB"
dwell = "0.8 s"
"""
COMPUTED = """
[[step]]
id = "computed"
title = "Computed"
pattern = "derived"
kind = "{kind}"
of = "lower"
against = "level"
"""

Held = Callable[[Sequence[SettledValue], Sequence[Point]], bool]
"""Whether the interval of the last value holds the truth."""


@dataclass(frozen=True)
class Case:
    """`points` draws what stands at the point for each value; `because`: why a figure outside 94 to 96 % is
    as it should be."""

    name: str
    steps: str
    meter: Meter
    points: Callable[[Random], tuple[Point, ...]]
    held: Held
    described: bool = True
    because: str = ""

    @cached_property
    def procedure(self) -> Procedure:
        return load_procedure_text(HEAD + self.steps, "coverage.toml")

    def dice(self, seed: int) -> Random:
        return Random(f"{self.name} {seed}")

    def run(self, seed: int) -> bool | None:
        """One session: held or not; None if a level did not settle."""
        dice = self.dice(seed)
        points = self.points(dice)
        values = Session(self.procedure, self.meter, dice, described=self.described).values(points)
        return None if values is None else self.held(values, points)


def in_volts(values: Sequence[SettledValue], points: Sequence[Point]) -> bool:
    return abs(values[-1].value - points[-1].level) <= values[-1].expanded_uncertainty


def in_db(values: Sequence[SettledValue], points: Sequence[Point]) -> bool:
    """As the report writes it."""
    return _between(values[-1], points[-1].level, DBU)


def as_gain(values: Sequence[SettledValue], points: Sequence[Point]) -> bool:
    return _between(values[-1], points[1].level / points[0].level, GAIN)


def _between(value: SettledValue, truth: float, scale: Scale) -> bool:
    used = scale_for(value, scale)
    down, up = sides(value, used)
    away = used.from_base(truth) - used.from_base(value.value)
    return -down <= away <= up


def about_another(values: Sequence[SettledValue], points: Sequence[Point]) -> bool:
    """Its distance from where its target lies, which is so far from the value before."""
    before, value = values
    assert value.target is not None
    part = value.target / before.value
    error = (value.value - part * before.value) - (points[1].level - part * points[0].level)
    return abs(error) <= value.expanded_uncertainty


def difference(values: Sequence[SettledValue], points: Sequence[Point]) -> bool:
    return abs(values[-1].value - (points[1].level - points[0].level)) <= values[-1].expanded_uncertainty


def near(volts: float, **more: float) -> Callable[[Random], tuple[Point, ...]]:
    """One level, anywhere within a tenth of it. Noise is so much of the level."""
    return lambda dice: (_point(volts * dice.uniform(0.9, 1.1), more),)


def pair(volts: float, db: float, **more: float) -> Callable[[Random], tuple[Point, ...]]:
    def points(dice: Random) -> tuple[Point, ...]:
        first = volts * dice.uniform(0.9, 1.1)
        second = first * 10.0 ** (db / 20.0)
        return Point(first, flat=more.get("flat", 0.0) * second), _point(second, more)

    return points


def over_floor(dice: Random) -> tuple[Point, ...]:
    """A noise of some ten counts first, then a signal far above it."""
    noise = 1e-3 * dice.uniform(0.9, 1.1)
    return Point(noise, floor=noise, freedom=400.0), Point(1.0, flat=2e-4)


def _point(level: float, shares: dict[str, float]) -> Point:
    freedom = shares.get("freedom", 50.0)
    return Point(level, shares.get("floor", 0.0) * level, shares.get("flat", 0.0) * level, freedom)


def at(name: str = "level", settle: str = "1 %") -> str:
    return LEVEL.format(name=name, settle=settle)


def two(kind: str, first: str = "1 %", second: str = "1 %", more: str = "") -> str:
    """Two levels, and what is computed of the second against the first."""
    return at(settle=first) + at("lower", second) + COMPUTED.format(kind=kind) + more


QUIET, COARSE = 2e-4, 1e-2
LAB, TWO_PERCENT, WEAK = Meter(0.005, 50), Meter(0.02, 30), Meter(0.01, 4)
NORMAL = Meter(0.01, 40, statement=Statement.NORMAL_95)
FINE = Meter(0.005, 20, count=1e-5)
STILL = "stands still, and is answered for as if it might creep"
CASES = (
    Case("gain outweighs", at(), Meter(0.02, 2), near(1.0, flat=QUIET), in_volts),
    Case("gain and offset alike", at(), LAB, near(1.0, flat=QUIET), in_volts),
    Case("offset outweighs, dBu", at(), LAB, near(0.1, flat=1e-3), in_db),
    Case("stated for 95 %, dBu", at(), NORMAL, near(0.5, flat=1e-3), in_db),
    Case(
        "coarse display, dBu",
        at(settle="5 %"),
        Meter(0.005, 1, COARSE),
        near(0.5, flat=1e-3),
        in_db,
        because=STILL,
    ),
    Case("1 dB below another", at() + ABOUT, TWO_PERCENT, pair(1.0, -1.0, flat=QUIET), about_another),
    Case(
        "difference",
        two("difference", more='show = "V"\n'),
        WEAK,
        pair(1.0, -6.0, flat=QUIET),
        difference,
        because=STILL,
    ),
    Case("gain of -1 dB", two("gain"), TWO_PERCENT, pair(1.0, -1.0, flat=QUIET), as_gain, because=STILL),
    Case(
        "gain into the floor",
        two("gain", "10 %", "10 %"),
        WEAK,
        pair(1.0, -60.0, floor=0.5),
        as_gain,
        because=STILL,
    ),
    Case("signal over noise", two("gain", "10 %"), WEAK, over_floor, as_gain, because=STILL),
    Case("level, a tenth noise, dBu", at(settle="3 %"), FINE, near(1e-3, floor=0.1), in_db),
    Case("level, a third noise, dBu", at(settle="5 %"), FINE, near(5e-4, floor=0.3), in_db, because=STILL),
    Case("noise alone, dBu", at(settle="10 %"), FINE, near(3e-4, floor=1.0, freedom=400.0), in_db),
    Case(
        "scatter alone, nobody described the meter",
        at(settle="2 %"),
        Meter(0.0, 0.0, count=1e-5),
        near(1.0, flat=1e-2),
        in_volts,
        described=False,
        because=STILL,
    ),
)
