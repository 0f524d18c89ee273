"""What the answers of a SCPI instrument say. Pure: bytes without terminator in, values out.

Forms of IEEE 488.2 chapter 8 (NR1, NR2, NR3, string, list), sentinels of SCPI-1999 volume 1, 7.2.1.
A number is what the whole element spells, never what a lenient converter makes of it: "nan", "inf",
"1_000", "1.5E" or a cut "-12." are no numbers. Everything here raises Garbled, with the text that came.
"""

import re
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from math import isclose, isfinite, isnan

from meterlog.reading import Garbled, Identity, State

POSITIVE_INFINITY = 9.9e37
"""SCPI-1999 vol. 1, 7.2.1.4; with a minus sign negative infinity."""
NOT_A_NUMBER = 9.91e37
"""SCPI-1999 vol. 1, 7.2.1.5."""
LARGEST_VALUE = 1e20
"""No meter measures more; beyond it a number is a sentinel of a dialect not described (common practice)."""

# Units that some meters put behind a number. E is no unit: "1.5E" is a number cut short.
SUFFIXES = ("VDC", "VAC", "ADC", "AAC", "OHM4W", "OHMS", "OHM", "HZ", "SECS", "RDNG", "LIMITS", "C", "F", "K")

NUMBER = r"[+-]?[0-9]{1,24}(?:\.[0-9]{1,24})?(?:[eE][+-]?[0-9]{1,3})?"
"""NR1, NR2 or NR3 as a regular expression. Bounded, so that a long answer takes time in proportion; without
possessive quantifiers, for the Python 3.11.2 of Debian 12 matches "1e" by them."""
_ELEMENT = re.compile(rf"({NUMBER}) ?({'|'.join(SUFFIXES)})?")
_INTEGER = re.compile(r"[+-]?[0-9]{1,9}")
_ERROR = re.compile(r"([+-]?[0-9]{1,6}) *, *(.*)")
_QUOTED = re.compile(r'"((?:[^"]|"")*)"')
_BOOLEANS = {"1": True, "+1": True, "ON": True, "0": False, "+0": False, "OFF": False}


@dataclass(frozen=True, slots=True)
class Element:
    """One number of an answer. value: as sent, None unless state is OK; suffix: one of SUFFIXES or empty.

    count: what one step of the last digit sent is worth; 0 if there are no digits, or they are no value.
    """

    value: float | None
    state: State
    raw: bytes
    suffix: str = ""
    count: float = 0.0


@dataclass(frozen=True, slots=True)
class DeviceError:
    """One entry of the error queue (SCPI-1999 vol. 2, 21.8); number 0 when the queue is empty."""

    number: int
    text: str
    information: str = ""

    def __str__(self) -> str:
        return f"{self.number} {self.text}" + (f" ({self.information})" if self.information else "")


def parse_text(content: bytes) -> str:
    """Plain ASCII, or Garbled: a byte above 127 means a wrong parity or speed."""
    try:
        return content.decode("ascii").strip()
    except UnicodeDecodeError:
        raise Garbled(f"not text: {content[:40]!r}; wrong speed or parity?") from None


def parse_elements(
    content: bytes, overload: float = POSITIVE_INFINITY, not_a_number: float = NOT_A_NUMBER
) -> list[Element]:
    """The numbers of a list; none if nothing was sent. A comma separates, it is never a decimal comma."""
    text = parse_text(content)
    return [_element(part.strip(), overload, not_a_number) for part in text.split(",")] if text else []


def _element(text: str, overload: float, not_a_number: float) -> Element:
    match = _ELEMENT.fullmatch(text)
    if match is None:
        raise Garbled(f"{text!r} is no number")
    value, state = judge(float(match[1]), overload, not_a_number)
    count = 0.0 if value is None else last_digit(match[1])
    return Element(value, state, text.encode("ascii"), match[2] or "", count)


def last_digit(number: str) -> float:
    """The worth of the last digit of an NR1, NR2 or NR3: "1.2345" has 1e-4, "+1.23E-03" has 1e-5."""
    mantissa, _, exponent = number.upper().partition("E")
    power = int(exponent or "0") - len(mantissa.partition(".")[2])
    # Through decimal text: the nearest double to 1e-11, not a product of two others.
    count = float(f"1E{power}")
    return count if count < LARGEST_VALUE else 0.0  # "0E999" is a number, but no meter counts so


def judge(
    number: float, overload: float = POSITIVE_INFINITY, not_a_number: float = NOT_A_NUMBER
) -> tuple[float | None, State]:
    """Sort out sentinels, by relative difference below 1E-6. A huge number is none: invalid."""
    if isnan(number) or isclose(number, not_a_number, rel_tol=1e-6):
        return None, State.INVALID
    if isclose(abs(number), overload, rel_tol=1e-6):
        return None, State.OVERLOAD
    if not isfinite(number) or abs(number) > LARGEST_VALUE:
        return None, State.INVALID
    return number, State.OK


def parse_reals(
    content: bytes, layout: str, overload: float = POSITIVE_INFINITY, not_a_number: float = NOT_A_NUMBER
) -> list[Element]:
    """IEEE-754 numbers of a block. layout: as in `struct`, ">d", ">f", or "<" for swapped bytes."""
    size = struct.calcsize(layout)
    if len(content) % size:
        raise Garbled(f"a block of {len(content)} bytes does not hold whole numbers of {size} bytes")
    numbers = (number for (number,) in struct.iter_unpack(layout, content))
    pieces = (content[at : at + size] for at in range(0, len(content), size))
    return [
        Element(*judge(number, overload, not_a_number), raw=piece)
        for number, piece in zip(numbers, pieces, strict=True)
    ]


def parse_integer(content: bytes) -> int:
    """NR1, as *OPC?, *ESR? and *STB? give it."""
    text = parse_text(content)
    if _INTEGER.fullmatch(text) is None:
        raise Garbled(f"{text!r} is no whole number")
    return int(text)


def parse_bool(content: bytes) -> bool:
    """1 or 0; ON and OFF are not standard, but seen."""
    text = parse_text(content)
    if text not in _BOOLEANS:
        raise Garbled(f"{text!r} is neither 1 nor 0")
    return _BOOLEANS[text]


def parse_error(content: bytes) -> DeviceError:
    """An answer to SYST:ERR?; one family leaves out the quotes."""
    text = parse_text(content)
    match = _ERROR.fullmatch(text)
    if match is None:
        raise Garbled(f"{text!r} is no entry of an error queue")
    quoted = _QUOTED.fullmatch(match[2])
    message = quoted[1].replace('""', '"') if quoted else match[2]
    standard, _, information = message.partition(";")
    return DeviceError(int(match[1]), standard.strip(), information.strip())


EVENTS = {
    2: (-400, "Query error"),
    3: (-300, "Device error"),
    4: (-200, "Execution error"),
    5: (-100, "Command error"),
}
"""Bits of the standard event status register (IEEE 488.2, 11.5.1) and the class of errors each stands for."""
ERROR_EVENTS = sum(1 << bit for bit in EVENTS)


def errors_of_events(events: int) -> list[DeviceError]:
    """What the event register tells of errors, for instruments without a queue."""
    return [DeviceError(*error) for bit, error in EVENTS.items() if events & 1 << bit]


def split_compound(content: bytes) -> list[str]:
    """Answers to several queries of one message; a semicolon inside quotes does not separate."""
    return [part.strip() for part in re.findall(r'(?:^|;)((?:"[^"]*"|[^;"])*)', parse_text(content))]


def split_identity(text: str) -> list[str]:
    """The fields of *IDN? (IEEE 488.2, 10.14), blanks trimmed; a comma in the fourth belongs to it."""
    return [field.strip() for field in text.split(",", 3)]


def parse_identity(content: bytes) -> Identity:
    """Fields only if there are four; `text` in any case. A serial number of 0 means unknown."""
    text = parse_text(content)
    if "," not in text or not any(c.isalpha() for c in text) or _is_numbers(text):
        raise Garbled(f"{text!r} is no answer to *IDN?")
    fields = split_identity(text)
    if len(fields) < 4:
        return Identity(text=text)
    maker, model, serial_number, version = fields
    return Identity(maker, model, "" if serial_number == "0" else serial_number, version, text)


def _is_numbers(text: str) -> bool:
    return all(_ELEMENT.fullmatch(part.strip()) for part in text.split(","))


def measured(elements: Sequence[Element]) -> list[Element]:
    """Those that are readings: where units are sent, time stamps, counters and channels fall out."""
    if not any(element.suffix for element in elements):
        return list(elements)
    return [e for e in elements if e.suffix not in ("", "SECS", "RDNG", "LIMITS")]
