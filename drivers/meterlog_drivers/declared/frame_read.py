"""What a binary frame says, as its file describes it. No port, no clock; never raises."""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

from meterlog.reading import Indication, State
from meterlog_drivers.declared.display_model import FLAGS
from meterlog_drivers.declared.display_read import on
from meterlog_drivers.declared.frame_model import FrameTables, Part
from meterlog_drivers.declared.meaning import Meaning
from meterlog_drivers.declared.template import NUMBER
from meterlog_drivers.handheld.figures import BLANK, NO_NUMBER, OVERLOAD, UNDERLOAD, Count, indication

_TEXT = re.compile(rf"([+-]?) *({NUMBER})")


class Frames:
    """One description, ready to be read by."""

    def __init__(self, tables: FrameTables) -> None:
        self._tables = tables
        self._start, self._end = bytes(tables.frame.start), bytes(tables.frame.end)

    def length(self, head: bytes) -> int:
        """See `meterlog_drivers.handheld.framing.Length`."""
        if not self._start.startswith(head[: len(self._start)]):
            return 0
        size = self._size(head)
        return 0 if len(head) >= size and not self._sound(head[:size]) else size

    def read(self, frame: bytes, at_ns: int) -> Sequence[Indication] | None:
        """Nothing of a sound frame that is no reading; None of one whose digits are none."""
        counted = self._tables.frame.counted
        if counted and self._counted(frame) != counted.reading:
            return []
        seen = frozenset(name for name, place in self._tables.flags.items() if on(frame, place))
        meaning = self._meaning(frame)
        number = self._number(frame)
        if number is None:
            return None
        if isinstance(number, Decimal):
            number = _in_base(-number if "minus" in seen else number, meaning) if meaning else NO_NUMBER
        for name, said in (("overload", OVERLOAD), ("underload", UNDERLOAD)):
            number = said if name in seen else number
        meaning = (meaning or Meaning()).whole()
        flags = seen.intersection(FLAGS)
        return [
            indication(
                at_ns, frame, number, meaning.unit, meaning.function, coupling=meaning.coupling, flags=flags
            )
        ]

    def _size(self, head: bytes) -> int:
        """Of the frame that begins so; 0 if none does, more than there is as long as that cannot be told."""
        frame = self._tables.frame
        if frame.counted is None:
            return frame.length or 0
        needed = frame.counted.byte + frame.counted.bytes
        if len(head) < needed:
            return needed
        number = self._counted(head)
        return number + frame.counted.more if number in frame.counted.known else 0

    def _counted(self, frame: bytes) -> int:
        field = self._tables.frame.counted
        assert field is not None
        return int.from_bytes(frame[field.byte : field.byte + field.bytes], _order(field.order))

    def _sound(self, frame: bytes) -> bool:
        """Its end and its sum are right."""
        rule = self._tables.frame.sum
        if rule is None:
            return frame.endswith(self._end)
        summed, told = frame[rule.first : -rule.bytes], frame[-rule.bytes :]
        total = {"as it is": sum(summed), "inverted": ~sum(summed), "negated": -sum(summed)}[rule.then]
        return int.from_bytes(told, _order(rule.order)) == total % (1 << 8 * rule.bytes)

    def _meaning(self, frame: bytes) -> Meaning | None:
        """None where the ranges do not say what one of the number is; an unknown function says nothing."""
        tables = self._tables
        code = _code(tables.function, frame) if tables.function else ""
        function = tables.functions.get(code, Meaning())
        if tables.range is None:
            return function
        own = _code(tables.range, frame)
        one = tables.ranges.get(f"{code} {own}".strip(), tables.ranges.get(own))
        return one.over(function) if one else None

    def _number(self, frame: bytes) -> Decimal | Count | None:
        value = self._tables.value
        piece = frame[value.byte : value.byte + value.bytes]
        if value.kind == "text":
            return self._text(piece.decode("latin-1").strip(" "))
        if value.kind == "digits":
            if not all(byte in b"0123456789" for byte in piece):
                return None
            number = int(piece)
        else:
            number = int.from_bytes(piece, _order(value.order), signed=value.kind == "signed")
        decimals = _whole(self._tables.decimals, frame) if self._tables.decimals else 0
        return Decimal(number).scaleb(-min(decimals, 30))

    def _text(self, text: str) -> Decimal | Count | None:
        words = self._tables.number
        if not text:
            return BLANK
        if text in words.overload:
            return OVERLOAD
        if text in words.underload:
            return UNDERLOAD
        found = _TEXT.fullmatch(text)
        return Decimal(found[1] + found[2]) if found else None


def _in_base(number: Decimal, meaning: Meaning) -> Count:
    exponent = number.as_tuple().exponent
    assert isinstance(exponent, int)
    return Count(State.OK, float(number * meaning.factor), float(meaning.factor.scaleb(exponent)))


def _order(order: str) -> Literal["big", "little"]:
    return "big" if order == "high first" else "little"


def _whole(part: Part, frame: bytes) -> int:
    whole = int.from_bytes(frame[part.byte : part.byte + part.bytes], _order(part.order))
    return whole >> part.bit & ((1 << part.bits) - 1)


def _code(part: Part, frame: bytes) -> str:
    """As the keys of the tables are written."""
    if part.text:
        return frame[part.byte : part.byte + part.bytes].decode("latin-1")
    return f"{_whole(part, frame):02X}"
