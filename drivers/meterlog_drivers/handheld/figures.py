"""What the formats share in writing numbers: digits and ranges, bits with names."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication, State

PREFIXES = {"": 0, "p": -12, "n": -9, "u": -6, "m": -3, "k": 3, "M": 6}


@dataclass(frozen=True, slots=True)
class Range:
    """exponent: of one count of the display, in the base unit. full: its full scale, in the base unit."""

    exponent: int
    full: float


def ranges(row: str) -> tuple[Range | None, ...]:
    """A row of a table of ranges: full scales as the display shows them, by range code; "-" for none.

    "400.0m 4.000 -": code 0 shows millivolts with one digit behind the point, code 1 volts with three.
    """
    return tuple(None if text == "-" else _range(text) for text in row.split())


def _range(text: str) -> Range:
    digits = text.rstrip("".join(PREFIXES))
    power = PREFIXES[text[len(digits) :]]
    return Range(power - len(digits.partition(".")[2]), float(f"{digits}e{power}"))


@dataclass(frozen=True, slots=True)
class Count:
    """The number of a display in the base unit, or why there is none."""

    state: State
    value: float | None = None
    resolution: float = 0.0


OVERLOAD, UNDERLOAD, BLANK = Count(State.OVERLOAD), Count(State.UNDERLOAD), Count(State.BLANK)
NO_NUMBER = Count(State.INVALID)


def count(digits: str, exponent: int, *, minus: bool = False) -> Count:
    """Through decimal text, so that 1.234 V is the nearest double to 1.234 and not 1234 times one."""
    sign = "-" if minus else ""
    return Count(State.OK, float(f"{sign}{int(digits)}e{exponent}"), float(f"1e{exponent}"))


def lit(bits: int, *names: str) -> frozenset[str]:
    """The names of the bits that are set, the last name for bit 0; "" for a bit that says nothing to us."""
    return frozenset(name for bit, name in enumerate(reversed(names)) if name and bits >> bit & 1)


def at_most_one(among: frozenset[str], *kinds: Iterable[str]) -> bool:
    """What excludes each other on a display is not lit together, for each of these kinds."""
    return all(len(among.intersection(kind)) <= 1 for kind in kinds)


def exponent_in(among: frozenset[str], prefixes: Mapping[str, int]) -> int:
    """Of the prefixes, of which one at most is lit; 0 without one."""
    return next((prefixes[name] for name in prefixes if name in among), 0)


def measured_in(
    among: frozenset[str],
    units: Mapping[str, tuple[Unit, str]],
    special: Mapping[tuple[str, str], str],
) -> tuple[Unit, str]:
    """Unit and function by the unit that is lit, of which one at most is.

    special: the function instead, where the unit is lit beside a mark
    """
    name = next((name for name in units if name in among), "")
    unit, function = units.get(name, (Unit.NONE, ""))
    return unit, next(
        (what for (of, mark), what in special.items() if of == name and mark in among), function
    )


def coupling_in(among: frozenset[str]) -> Coupling:
    """Of the annunciators "dc" and "ac", of which one at most is lit."""
    return next((coupling for coupling in (Coupling.DC, Coupling.AC) if coupling in among), Coupling.NONE)


def indication(
    at_ns: int,
    raw: bytes,
    counted: Count,
    unit: Unit,
    function: str,
    *,
    coupling: Coupling = Coupling.NONE,
    range_max: float | None = None,
    flags: frozenset[str] = frozenset(),
    display: int = 1,
) -> Indication:
    return Indication(
        monotonic_ns=at_ns,
        value=counted.value,
        state=counted.state,
        resolution=counted.resolution,
        unit=unit,
        function=function,
        coupling=coupling,
        range_max=range_max,
        flags=flags,
        raw=raw,
        display=display,
    )
