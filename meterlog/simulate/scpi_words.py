"""SCPI program messages: headers in long and short form, the tree level after a semicolon, numbers.

After IEEE 488.2 (message format) and SCPI-1999 volume 1, 6.2 (headers; only the exact long or the exact
short form is legal; a header after ";" goes on at the level of the one before).
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

SUFFIXES = {"": 1.0, "V": 1.0, "MV": 1e-3, "UV": 1e-6, "HZ": 1.0, "KHZ": 1e3}
_NUMBER = re.compile(r"([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:E[+-]?\d+)?)\s*([A-Z]*)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Command:
    """One program message unit: its header with all nodes from the root, "?" included, and its arguments."""

    header: str
    arguments: tuple[str, ...]


def commands(message: str) -> Iterator[Command]:
    """The units of one message line, headers made whole and in upper case."""
    level = ""
    for text in message.split(";"):
        header, _, rest = text.strip().partition(" ")
        header = header.upper()
        if header in ("", ":"):
            continue
        if not header.startswith("*"):
            header = header[1:] if header.startswith(":") else level + header
            level = header[: header.rfind(":") + 1]
        arguments = tuple(argument.strip() for argument in rest.split(",")) if rest.strip() else ()
        yield Command(header, arguments)


def pattern(written: str) -> re.Pattern[str]:
    """The headers that a manual's "[SENSe:]VOLTage:AC:RANGe[:UPPer]" stands for."""
    parts = re.findall(r"[A-Z]+[a-z]*|\[|\]|[^A-Za-z\[\]]+", written)
    return re.compile("".join(map(_piece, parts)))


def number(text: str) -> float | None:
    """A number with an optional unit, in the base unit; None when it is none."""
    match = _NUMBER.fullmatch(text.strip())
    factor = SUFFIXES.get(match[2].upper()) if match else None
    return float(match[1]) * factor if match and factor is not None else None


def _piece(part: str) -> str:
    if part in "[]":
        return "(?:" if part == "[" else ")?"
    if not part[0].isalpha():
        return re.escape(part)
    short = part.rstrip("abcdefghijklmnopqrstuvwxyz")
    return f"(?:{part.upper()}|{short})"
