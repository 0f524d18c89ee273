"""The formats of hand-held meters: simple checks, by the descriptions at the heads of their modules.

Where a display's figures stand in the frame as digits, they must be those of the value.
"""

from collections.abc import Callable
from functools import reduce

from meterlog.reading import Indication, State
from tests.drivers.handheld.kinds import FORMATS, sound, with_parity
from tests.fuzz.subject import Feed, Subject

PARITY = ("es51922", "es519-11")

# Seven-segment figures (common practice), by the low nibbles of the two bytes that draw them in FS9721
# frames: segments 5 6 1 of the first, 4 3 7 2 of the second.
FIGURES = {
    (7, 13): "0", (0, 5): "1", (5, 11): "2", (1, 15): "3", (2, 7): "4",
    (3, 14): "5", (7, 14): "6", (1, 5): "7", (3, 5): "7", (7, 15): "8", (3, 15): "9",
    (0, 0): "", (6, 8): "L", (0, 2): "-", (7, 10): "E", (4, 2): "r",
}  # fmt: skip


def fs9721(shown: Indication, _data: bytes, _at: int) -> str:
    raw = shown.raw
    if [byte >> 4 for byte in raw] != list(range(1, 15)):
        return "its index nibbles are not 1 to 14"
    drawn = [FIGURES.get((raw[n] & 7, raw[n + 1] & 15), "?") for n in (1, 3, 5, 7)]
    return _same_figures(shown, "".join(drawn))


def fs9922(shown: Indication, _data: bytes, _at: int) -> str:
    raw = shown.raw
    if len(raw) != 14 or raw[:1] not in b"+-" or raw[5:6] != b" " or raw[12:] != b"\r\n":
        return "its fixed bytes are not in their places"
    return _same_figures(shown, raw[1:5].decode("latin-1"))


def es519(size: int, figures: int) -> Callable[[Indication, bytes, int], str]:
    """A line of exactly this length, with the parity that its bytes on the line have."""

    def why_not(shown: Indication, data: bytes, at: int) -> str:
        whole = data[at : at + size]
        if len(shown.raw) != size or not shown.raw.endswith(b"\r\n"):
            return f"it is no line of {size} bytes"
        if at and 0x30 <= data[at - 1] & 0x7F < 0x40:
            return "its line begins before it"
        even = [byte for byte in whole if byte.bit_count() % 2 == 0]
        if even and any(byte & 0x80 for byte in whole):
            return "its parity is wrong"
        return _same_figures(shown, "".join(chr(byte) for byte in shown.raw[1 : 1 + figures]))

    return why_not


def ascii14(shown: Indication, data: bytes, at: int) -> str:
    if len(shown.raw) != 14 or shown.raw[-1:] != b"\r" or b"\r" in shown.raw[:-1]:
        return "it is no line of 14 bytes"
    if at and 0x20 <= data[at - 1] & 0x7F < 0x7F:
        return "its line begins before it"
    return _same_figures(shown, shown.raw[2:9].decode("latin-1").strip(" +-"))


def stx16(shown: Indication, _data: bytes, _at: int) -> str:
    raw = shown.raw
    if len(raw) != 16 or raw[:2] != b"\x024" or raw[-1:] != b"\r" or not raw[7:15].isdigit():
        return "it does not stand between STX and CR"
    return _same_figures(shown, raw[7:15].decode())


def bin11(shown: Indication, _data: bytes, _at: int) -> str:
    raw = shown.raw
    if len(raw) != 11 or not raw[1:5].isdigit() or raw[9:] != b"\r\n":
        return "its digits or its end are not in their places"
    return _same_figures(shown, raw[1:5].decode())


def abcd_sum16(shown: Indication, _data: bytes, _at: int) -> str:
    raw = shown.raw
    if raw[:2] != b"\xab\xcd" or len(raw) != 3 + raw[2]:
        return "its header or length is wrong"
    total = reduce(lambda one, other: (one + other) % 65536, raw[:-2])
    if total != raw[-2] * 256 + raw[-1]:
        return "its sum is wrong"
    return _same_figures(shown, raw[5:12].decode("latin-1").strip(" +-"))


LENGTH = ("lose", "double", "foreign")
TOLD = {
    # A foreign byte may stand for the one beside it: for the first, which carries flags or the sign.
    "fs9721": ("lose", "double"),
    "fs9922": ("lose", "double"),
    "bin11": ("lose", "double"),
    "ascii14": LENGTH,
    "stx16": LENGTH,
    "es51922": (*LENGTH, "flip"),
    "es519-11": (*LENGTH, "flip"),
    "abcd-sum16": (*LENGTH, "flip"),
}
"""What one damage in a frame each format can tell, by its length, its fixed bytes, its parity or its sum."""
CHECKS = {
    "fs9721": fs9721,
    "fs9922": fs9922,
    "es51922": es519(14, 5),
    "es519-11": es519(11, 4),
    "ascii14": ascii14,
    "stx16": stx16,
    "bin11": bin11,
    "abcd-sum16": abcd_sum16,
}


def subject(name: str) -> Subject:
    frames = sound(name)
    return Subject(
        name=name,
        new=lambda: _new(name),
        frames=[with_parity(frame) for frame in frames] if name in PARITY else frames,
        why_not=CHECKS[name],
        told=TOLD[name],
        mask=0x7F if name in (*PARITY, "ascii14", "bin11") else 0xFF,
    )


def _new(name: str) -> Feed:
    return FORMATS[name].decoder().feed


def _same_figures(shown: Indication, drawn: str) -> str:
    """The figures of the display are those of the value in counts."""
    if shown.state is not State.OK:
        return ""
    if shown.value is None or shown.resolution <= 0.0:
        return "it has no value or no resolution"
    counts, figures = round(abs(shown.value) / shown.resolution), drawn.replace(".", "")
    same = figures.isdigit() and counts == int(figures)
    return "" if same else f"the display draws {drawn!r}, the value is {counts} counts"
