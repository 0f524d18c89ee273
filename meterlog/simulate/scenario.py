"""What a scenario is: a unit, what its points are measured with, and what a person knows of its steps."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from meterlog.simulate.policies import StepPlan
from meterlog.simulate.unit import Unit


class Kind(StrEnum):
    """What kind of meter: SCPI over TCP, or frames on a pseudo-terminal."""

    BENCH_METER = "bench meter"
    HANDHELD = "handheld"


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """How a point of the unit is measured: by a meter of its own, which shows nothing else.

    coupling    "ac" or "dc"; "" for a frequency
    function    "voltage"; a bench meter also "frequency"
    full_scale  the range a bench meter is held in, base unit; None, and handhelds: it chooses by itself
    meter       the meter's name; "" for "<point> meter"
    """

    kind: Kind = Kind.HANDHELD
    coupling: str = "ac"
    function: str = "voltage"
    show: str = "V"
    full_scale: float | None = None
    meter: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """`name` is also the name of the procedure that is made for it.

    unit    made anew for each run; the seed may only choose what differs between units of one kind
    steps   what the technician knows, by the ids of the procedure's steps
    levels  references for the bench file
    driven_source  whether a function generator stands on the bench; the unit then has a source's controls
    """

    name: str
    summary: str
    unit: Callable[[int], Unit]
    points: Mapping[str, Point]
    steps: Mapping[str, StepPlan]
    levels: Mapping[str, str] = field(default_factory=lambda: {"vu": "+4 dBu"})
    driven_source: bool = False

    def meter_name(self, point: str) -> str:
        return self.points[point].meter or f"{point} meter"
