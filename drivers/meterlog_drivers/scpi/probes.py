"""Whether something that answers *IDN? is at the end of a line. Pure.

*IDN? changes nothing in an instrument (IEEE 488.2, 10.14). The speeds are those that meters with RS-232
are set to most (common practice). 9600 first, which is as good as any where the port is USB in truth.
"""

from contextlib import suppress

from meterlog.reading import Garbled, Identity, Line, Probe
from meterlog_drivers.scpi.answers import parse_identity, split_identity

QUESTION = b"*IDN?\n"
SPEEDS = (9600, 19200, 115200, 4800)
ANSWER_S = 1.0
LONGEST_BYTES = 200
"""IEEE 488.2 allows 72 (from memory); some say more."""


def probes() -> list[Probe]:
    """One for each speed, 8N1."""
    return [Probe(Line(baud=baud), QUESTION, ANSWER_S, recognise) for baud in SPEEDS]


def recognise(heard: bytes) -> Identity | None:
    """The newest whole line that reads as an identity, ended by LF or CR; an echo of the question is none."""
    *lines, _unfinished = heard.replace(b"\r", b"\n").split(b"\n")
    return next((found for line in reversed(lines) if (found := _identity(line))), None)


def _identity(line: bytes) -> Identity | None:
    """Three fields at least: two could be any list."""
    if len(line) > LONGEST_BYTES or not line.isascii() or not line.decode("ascii").isprintable():
        return None
    with suppress(Garbled):
        found = parse_identity(line)
        fields = split_identity(found.text)
        if len(fields) >= 3 and all(any(c.isalnum() for c in field) for field in fields[:2]):
            return found
    return None
