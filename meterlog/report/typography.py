"""Numbers, units and moments as print sets them; for the page and for the PDF alike."""

import math
import re
from datetime import UTC, datetime

_PRETTY_UNITS = (
    (re.compile(r"\bu(?=[VAFHWs]\b)"), "µ"),
    (re.compile(r"ohm\b"), "Ω"),
    (re.compile(r"\bdeg(?=[CF]\b)"), "°"),
)
_BEFORE_UNIT = re.compile(r"(?<=±) |(?<=\d) (?!to\b|beyond\b)(?=[A-Za-zµΩ%°])")
_HYPHEN_MINUS = re.compile(r"(?<!\w)-(?=[\d.∞]|inf)")  # not within a serial number or a date
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def number(text: str) -> str:
    """A real minus, µ, Ω and °, no line break before a unit."""
    for pattern, sign in _PRETTY_UNITS:
        text = pattern.sub(sign, text)
    return _HYPHEN_MINUS.sub("−", _BEFORE_UNIT.sub("\u00a0", text))


def figure(value: float, digits: int = 2) -> str:
    """A number to some significant digits; powers of ten where it would have many zeros."""
    if math.isinf(value):
        return "∞"
    mantissa, _, exponent = f"{value:.{digits - 1}e}".partition("e")
    power = int(exponent)
    if value and not -3 <= power <= 4:
        return number(f"{mantissa} × 10{str(power).translate(_RAISED)}")
    return number(f"{float(f'{mantissa}e{power}'):.{max(0, digits - 1 - power)}f}")


def factor(k: float) -> str:
    """A coverage factor to three decimals at most, as it is computed: 2, 1.95, 2.025. So U is k times u as
    printed."""
    return f"{k:.3f}".rstrip("0").rstrip(".")


def when(moment: datetime) -> str:
    """To the second, with the offset from UTC: 2026-10-25 02:30:00 +02:00."""
    text = moment.isoformat(sep=" ", timespec="seconds")
    return f"{text[:19]} {text[19:]}"


def utc(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
