"""What a frame of segments shows, by its map. No port, no clock; never raises."""

import re
from collections.abc import Sequence

from meterlog.reading import Coupling, Indication
from meterlog_drivers.declared.display_model import (
    CHARACTERS,
    COUPLINGS,
    FLAGS,
    PREFIXES,
    SPECIAL_FUNCTIONS,
    UNITS,
    DisplayTables,
    Position,
)
from meterlog_drivers.handheld.figures import (
    BLANK,
    NO_NUMBER,
    OVERLOAD,
    UNDERLOAD,
    Count,
    at_most_one,
    count,
    exponent_in,
    indication,
    measured_in,
)

NUMBER = re.compile(r" *[0-9]*\.?[0-9]+")


class Display:
    """One map, ready to be read by."""

    def __init__(self, tables: DisplayTables) -> None:
        self._tables = tables
        self._drawn = {
            frozenset(drawing): letter
            for letters in (CHARACTERS, tables.characters)
            for letter, drawings in letters.items()
            for drawing in drawings
        }

    def fits(self, frame: bytes) -> bool:
        """Whether what is the same in every frame is there."""
        rules = self._tables.frame
        indexed = not rules.index or all(byte >> 4 == place for place, byte in enumerate(frame, start=1))
        return indexed and frame.startswith(bytes(rules.start))

    def read(self, frame: bytes, at_ns: int) -> Sequence[Indication] | None:
        """None if no display can look like that."""
        digits, seen = self._digits(frame), self._seen(frame)
        points = [
            n for n, digit in enumerate(self._tables.digits, 1) if digit.point and on(frame, digit.point)
        ]
        rules = self._tables.frame
        always = all(on(frame, place) for place in rules.lit) and not any(on(frame, p) for p in rules.dark)
        possible = always and len(points) <= 1 and at_most_one(seen, PREFIXES, UNITS, COUPLINGS)
        if digits is None or not possible:
            return None
        shown = f"{digits[: points[0]]}.{digits[points[0] :]}" if points else digits
        unit, function = measured_in(seen, UNITS, SPECIAL_FUNCTIONS)
        return [
            indication(
                at_ns,
                frame,
                self._count(shown, "minus" in seen, exponent_in(seen, PREFIXES)),
                unit,
                function,
                coupling=next((Coupling(name) for name in COUPLINGS if name in seen), Coupling.NONE),
                flags=seen.intersection(FLAGS),
            )
        ]

    def _seen(self, frame: bytes) -> frozenset[str]:
        return frozenset(name for name, place in self._tables.annunciators.items() if on(frame, place))

    def _digits(self, frame: bytes) -> str | None:
        """None if one of them is drawn as no display draws."""
        drawn = [
            frozenset(name for name, place in digit.segments if on(frame, place))
            for digit in self._tables.digits
        ]
        letters = [self._drawn.get(drawing) for drawing in drawn]
        return "".join(letter for letter in letters if letter) if all(letters) else None

    def _count(self, shown: str, minus: bool, exponent: int) -> Count:
        text = shown.replace(".", "").strip()
        if not text:
            return BLANK
        if text in self._tables.number.overload:
            return OVERLOAD
        if text in self._tables.number.underload:
            return UNDERLOAD
        if not NUMBER.fullmatch(shown):
            return NO_NUMBER
        return count(text, exponent - len(shown.partition(".")[2]), minus=minus)


def on(frame: bytes, position: Position) -> bool:
    byte, bit = position
    return bool(frame[byte] >> bit & 1)
