"""The formats of hand-held meters, and what their decoders make of bytes; for the tests beside this."""

from collections.abc import Sequence

from meterlog.reading import Indication, State
from meterlog_drivers.handheld import (
    abcd_sum16,
    ascii14,
    bin11,
    es519_11,
    es51922,
    fs9721,
    fs9922,
    stx16,
)
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.format import Format
from tests.drivers.vectors import rows

MODULES = (fs9721, fs9922, es51922, es519_11, ascii14, stx16, bin11, abcd_sum16)
FORMATS: dict[str, Format] = {module.FORMAT.name: module.FORMAT for module in MODULES}
DRIVERS: dict[str, Handheld] = {module.driver.name: module.driver for module in MODULES}
FRAMES = {name: rows(f"{name.replace('-', '_')}.csv") for name in FORMATS}
STREAMS = rows("fs9721_streams.csv") + rows("handheld_streams.csv")

Cuts = Sequence[int]


def frame(row: str) -> bytes:
    """The bytes of a row of a vector file, by its id."""
    return next(bytes.fromhex(one["hex"]) for own in FRAMES.values() for one in own if one["id"] == row)


def sound(name: str) -> list[bytes]:
    """The frames of a format that carry a number."""
    return [bytes.fromhex(row["hex"]) for row in FRAMES[name] if row["expect"] == "reading"]


def decode(name: str, data: bytes, cuts: Cuts = ()) -> list[Indication]:
    """What a new decoder finds; each piece is dated by the place where it begins."""
    decoder, found, start = FORMATS[name].decoder(), [], 0
    for cut in [*sorted(cut for cut in cuts if cut < len(data)), len(data)]:
        found += decoder.feed(data[start:cut], at_ns=start)
        start = cut
    return found


def with_parity(data: bytes) -> bytes:
    """As a port opened 8N1 delivers bytes of seven bits and odd parity."""
    return bytes(byte if byte.bit_count() % 2 else byte | 0x80 for byte in data)


def numbers(found: Sequence[Indication]) -> list[tuple[float | None, State, bytes]]:
    return [(one.value, one.state, one.raw) for one in found]
