"""Taking "-10 VU (0 VU = +4 dBu)" apart, with a helpful word where it cannot be done."""

import math
import re
from typing import NamedTuple

from meterlog.quantity.errors import QuantityError

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_UNIT = re.compile(r"(?P<symbol>[^\W\d_]*|%) ?(?:\((?P<note>.*)\))?")
# What keyboards and office programs write for the plain sign: minus, micro and mu, ohm and omega, degree.
_PLAIN = str.maketrans(
    {"\u2212": "-", "\u00b5": "u", "\u03bc": "u", "\u2126": "ohm", "\u03a9": "ohm", "°": "deg"}
)
_LONGEST = 100  # characters; also bounds how deep brackets can stand in brackets
_HINTS = (
    (",", "write decimals after a point, such as 1.5 V"),
    ("_0123456789", "write digits without separators"),
)


class Parts(NamedTuple):
    """A number, the symbol after it, and what stands in brackets after that ("" if nothing)."""

    number: float
    symbol: str
    note: str


def split(text: str) -> Parts:
    """Number, symbol and note. QuantityError if there is no finite number at the start, or a long text."""
    plain = _plain(text)
    found = _NUMBER.match(plain)
    if not found:
        raise QuantityError(
            f"{text!r} does not begin with a number; write a number and a unit, such as 1.228 V"
        )
    number = float(found.group())
    if not math.isfinite(number):
        raise QuantityError(f"{text!r} is too large for a number; look at its exponent again")
    return Parts(number, *_unit(plain[found.end() :].strip(), text))


def split_unit(text: str) -> tuple[str, str]:
    """Symbol and note of a unit alone. QuantityError if there is anything else."""
    return _unit(_plain(text), text)


def _plain(text: str) -> str:
    if len(text) > _LONGEST:
        raise QuantityError(f"{text[:20]!r}... is longer than {_LONGEST} characters; write one quantity")
    return " ".join(text.translate(_PLAIN).split())


def _unit(rest: str, text: str) -> tuple[str, str]:
    parts = _UNIT.fullmatch(rest)
    if not parts:
        hints = (hint for signs, hint in _HINTS if rest[:1] in signs)
        hint = next(hints, "write one number and one unit, such as 1.228 V")
        raise QuantityError(f"{text!r} cannot be read at {rest!r}; {hint}")
    return re.sub(r"[oO]hms?$", "ohm", parts["symbol"]), parts["note"] or ""
