"""What the author of a driver says of one meter, so that the kit can play it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Driver, Indication, Settings, State

Answers = Callable[[bytes], bytes]
"""What an instrument answers to what was written in one piece; b"" for nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What an indication must say; None where it is not looked at. within: relative, for numbers."""

    value: float | None = None
    unit: Unit | None = None
    state: State | None = State.OK
    function: str | None = None
    coupling: Coupling | None = None
    flags: frozenset[str] | None = None
    resolution: float | None = None
    display: int = 1
    within: float = 1e-12

    def misfit(self, indication: Indication) -> str:
        """In words how an indication differs; "" if it does not."""
        wanted = {name: getattr(self, name) for name in self.__slots__ if name != "within"}
        wanted = {name: value for name, value in wanted.items() if value is not None}
        differing = (
            f"{name} is {getattr(indication, name)!r}, wanted {value!r}"
            for name, value in wanted.items()
            if not self._same(getattr(indication, name), value)
        )
        return "; ".join(differing)

    def _same(self, found: object, wanted: object) -> bool:
        if isinstance(found, float) and isinstance(wanted, float):
            return abs(found - wanted) <= self.within * abs(wanted)
        return found == wanted


@dataclass(frozen=True, slots=True)
class Row:
    """A frame, or an answer to the question for a reading, and what must come of it: () for nothing."""

    name: str
    data: bytes
    shown: Sequence[Shown]


@dataclass(frozen=True, slots=True, kw_only=True)
class Specimen:
    """One meter, played on fake wires.

    driver     what the entry point names
    rows       what it sends and what that means; at least three of them different readings
    settings   as a bench file would ask for it
    question   what the driver writes to get one reading, in one piece; b"" for a meter that talks by itself
    answers    what it answers to everything else (identity, settings, errors); afresh for each connection
    other      the same for another instrument of that kind, whose identity differs; None if they cannot tell
    period_s   from one frame to the next, or from the question to its answer
    triggered  each question begins a measurement, whose number is the answer: none can come twice
    foreign    bytes that can stand nowhere in a frame or an answer
    longest_s  what any call may take while the far end hangs, connecting included
    """

    driver: Driver
    rows: Sequence[Row]
    settings: Settings = field(default_factory=Settings)
    question: bytes = b""
    answers: Callable[[], Answers] = lambda: lambda question: b""
    other: Callable[[], Answers] | None = None
    period_s: float = 0.4
    triggered: bool = False
    foreign: bytes = b"\x00\xff"
    longest_s: float = 10.0

    @property
    def talks(self) -> bool:
        """By itself, without being asked."""
        return not self.question

    @property
    def readings(self) -> list[Row]:
        """Rows of one reading each, no two with the same value."""
        by_value = {
            row.shown[0].value: row
            for row in self.rows
            if len(row.shown) == 1 and row.shown[0].state is State.OK and row.shown[0].value is not None
        }
        assert len(by_value) >= 3, "the kit needs at least three rows that are readings of different values"
        return list(by_value.values())
