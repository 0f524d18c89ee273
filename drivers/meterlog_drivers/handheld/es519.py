"""What the chips of the ES519xx family share: the line, the parity, the layout of a block. Not their tables.

7 data bits, odd parity, 1 stop bit; every byte but the CR LF at the end is 30-3F and carries four bits:
range, digits, function, status, options. There is no start mark, so only a line of exactly the right length
is a block. The port is opened as 8N1, which hands over the parity bit as the eighth: see
`framing.OddParity`. The lead lives on DTR: the chip sends while it is set.

Source: data sheet ES51985, page 12 (line, top bits, "SDO twice per conversion"); hobbyists' descriptions
(DTR).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication
from meterlog_drivers.handheld.figures import (
    NO_NUMBER,
    OVERLOAD,
    UNDERLOAD,
    Count,
    Range,
    at_most_one,
    count,
    coupling_in,
    indication,
    lit,
)
from meterlog_drivers.handheld.framing import Decoder, Lines, OddParity

END = b"\r\n"
BODY = range(0x30, 0x40)
MINUS, OVERLOADED, UNDERLOADED = "minus", "overload", "ul"
HERTZ_BESIDE = "vahz"
"""The meter stands on volts or amperes and shows hertz, as the name says; what the digits then are under
another function than frequency is not known, so they are no number."""
JUDGE, SHUNT, FIXED_0 = "judge", "vbar", "never"


@dataclass(frozen=True, slots=True)
class Measured:
    """ranges: by range code, None where how the chip scales its digits is not known."""

    function: str
    unit: Unit
    ranges: tuple[Range | None, ...] | None


@dataclass(frozen=True, slots=True)
class Chip:
    """functions: by function code. instead: what goes before that while something is lit.

    status, options: what the bits 3..0 of each byte are called
    flags            those of these names that go with a reading
    dc_or_ac         the chip shows "dc" by a bit, and AC by its absence
    """

    digits: int
    functions: Mapping[int, Measured]
    status: tuple[str, ...]
    options: tuple[tuple[str, ...], ...]
    flags: frozenset[str]
    instead: Mapping[tuple[int, str], Measured] = field(default_factory=dict)
    dc_or_ac: bool = False

    def decoder(self) -> Decoder:
        return Lines(self.digits + len(self.options) + 5, END, BODY, OddParity(), self.read)

    def read(self, block: bytes, at_ns: int) -> Sequence[Indication] | None:
        """What a block of the right length shows; None if the chip's tables do not allow it."""
        range_code, *digits = [byte & 15 for byte in block[: self.digits + 1]]
        seen = self._lit(block)
        measured = self._measured(block[self.digits + 1] & 15, seen)
        if measured is None or max(digits) > 9 or FIXED_0 in seen or not at_most_one(seen, ("ac", "dc")):
            return None
        chosen, allowed = _range(measured, range_code)
        if not allowed:
            return None
        return [
            indication(
                at_ns,
                block,
                _count(digits, chosen, seen, measured),
                measured.unit,
                measured.function,
                coupling=self._coupling(measured, seen),
                range_max=chosen.full if chosen else None,
                flags=seen & self.flags,
            )
        ]

    def _lit(self, block: bytes) -> frozenset[str]:
        names = (self.status, *self.options)
        return frozenset().union(
            *(lit(byte & 15, *own) for byte, own in zip(block[self.digits + 2 :], names, strict=False))
        )

    def _measured(self, code: int, seen: frozenset[str]) -> Measured | None:
        for (of, name), measured in self.instead.items():
            if of == code and name in seen:
                return measured
        return self.functions.get(code)

    def _coupling(self, measured: Measured, seen: frozenset[str]) -> Coupling:
        if self.dc_or_ac and "dc" not in seen and measured.function in ("voltage", "current"):
            return Coupling.AC
        return coupling_in(seen) if measured.function in ("voltage", "current") else Coupling.NONE


def _range(measured: Measured, code: int) -> tuple[Range | None, bool]:
    """The range of this code, and whether the function has such a code at all."""
    if measured.ranges is None:
        return None, True
    chosen = measured.ranges[code] if code < len(measured.ranges) else None
    return chosen, chosen is not None


def _count(digits: list[int], chosen: Range | None, seen: frozenset[str], measured: Measured) -> Count:
    if OVERLOADED in seen:
        return OVERLOAD
    if UNDERLOADED in seen:
        return UNDERLOAD
    if chosen is None or (HERTZ_BESIDE in seen and measured.function != "frequency"):
        return NO_NUMBER
    return count("".join(map(str, digits)), chosen.exponent, minus=MINUS in seen)
