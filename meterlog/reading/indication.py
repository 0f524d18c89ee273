"""What a meter showed (an indication) and what the bench made of it (a reading).

"Indication" is the word of JCGM 200:2012 (VIM) 4.1 for the value an instrument provides. A driver
delivers indications; the link adds the channel and the wall time and so makes readings.
"""

from dataclasses import dataclass
from enum import StrEnum

from meterlog.quantity import Unit


class State(StrEnum):
    """Whether there is a number, and if not, why. Anything but OK carries no value."""

    OK = "ok"
    OVERLOAD = "overload"
    UNDERLOAD = "underload"
    BLANK = "blank"
    INVALID = "invalid"


class Coupling(StrEnum):
    """How the meter couples to the signal; NONE where the word makes no sense (resistance)."""

    DC = "dc"
    AC = "ac"
    ACDC = "acdc"
    NONE = ""


# Flags of an indication. Those in UNFIT mean that the number shown is not what is happening now.
HOLD, RELATIVE, MINIMUM, MAXIMUM = "hold", "rel", "min", "max"
AUTO, LOW_BATTERY = "auto", "lowbatt"
UNFIT = frozenset({HOLD, RELATIVE, MINIMUM, MAXIMUM, "pmax", "pmin", "mem"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Indication:
    """One number, or the lack of one, as the meter gave it.

    monotonic_ns  when the question was sent or the first byte came; never when it was parsed
    value         in the base unit; None unless state is OK
    unit          base unit; Unit.NONE where the meter does not say
    resolution    one count of the display in the base unit, 0.0 where unknown
    range_max     full scale in the base unit, None where unknown
    function      voltage, current, resistance, ...; empty where the meter does not say
    raw           what the meter sent, for the record
    display       which display of the meter, where it has several; 1 is the main one
    """

    monotonic_ns: int
    value: float | None
    unit: Unit
    state: State
    coupling: Coupling = Coupling.NONE
    resolution: float = 0.0
    range_max: float | None = None
    function: str = ""
    flags: frozenset[str] = frozenset()
    raw: bytes = b""
    display: int = 1

    def __post_init__(self) -> None:
        if (self.value is None) == (self.state is State.OK):
            raise ValueError(f"state {self.state} and value {self.value} contradict each other")

    @property
    def unfit(self) -> frozenset[str]:
        """The flags that forbid a capture: held, relative, minimum, maximum displays."""
        return self.flags & UNFIT


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Indication):
    """An indication on a channel of the bench, with its wall time (UTC, ns) beside the monotonic one."""

    channel: str
    time_ns: int

    @classmethod
    def of(cls, indication: Indication, *, channel: str, time_ns: int) -> "Reading":
        # Written out: done for every reading, and going through the fields by name costs as much again.
        return cls(
            monotonic_ns=indication.monotonic_ns,
            value=indication.value,
            unit=indication.unit,
            state=indication.state,
            coupling=indication.coupling,
            resolution=indication.resolution,
            range_max=indication.range_max,
            function=indication.function,
            flags=indication.flags,
            raw=indication.raw,
            display=indication.display,
            channel=channel,
            time_ns=time_ns,
        )
