"""The 14-byte frames of a multimeter with the FS9721_LP3 chip: a picture of its display, bit by bit.

Byte i (1 to 14) carries i in its high nibble. The low nibbles hold annunciators (bytes 1 and 10 to 14)
and the segments of four digits (bytes 2 to 9). Layout after the chip's data sheet, as the published
descriptions of hobbyists quote it; bytes 10 to 14 partly from memory of the data sheet.
"""

from collections.abc import Collection

# Segments in the order 5 6 1 | 4 3 7 2 (1 top, 2 upper right, 3 lower right, 4 bottom, 5 lower left,
# 6 upper left, 7 middle): three bits go into a digit's first byte, four into its second.
SEGMENTS = {
    "0": 0x7D,
    "1": 0x05,
    "2": 0x5B,
    "3": 0x1F,
    "4": 0x27,
    "5": 0x3E,
    "6": 0x7E,
    "7": 0x15,
    "8": 0x7F,
    "9": 0x3F,
    "L": 0x68,
    " ": 0x00,
}

ANNUNCIATORS = {
    name: (byte, bit)
    for byte, names in {
        1: ("rs232", "auto", "dc", "ac"),
        10: ("diode", "kilo", "nano", "micro"),
        11: ("beep", "mega", "percent", "milli"),
        12: ("hold", "relative", "ohm", "farad"),
        13: ("low battery", "hertz", "volt", "ampere"),
        14: ("user 0", "user 1", "user 2", "user 3"),
    }.items()
    for bit, name in enumerate(names)
}

OVERLOAD, BLANK = " 0.L ", "    "


def encode(display: str, lit: Collection[str]) -> bytes:
    """One frame.

    display  four characters of SEGMENTS, with "-" before them and "." behind one of the first three
             where they are lit: "-1.234", "0775", OVERLOAD, BLANK
    lit      annunciators besides rs232, which is always lit while the meter sends
    """
    nibbles = [0] * 14
    for name in {*lit, "rs232"}:
        byte, bit = ANNUNCIATORS[name]
        nibbles[byte - 1] |= 1 << bit
    digits = display.removeprefix("-")
    if display.startswith("-"):
        nibbles[1] |= 0x8
    if "." in digits:
        nibbles[1 + 2 * digits.index(".")] |= 0x8
    for place, character in enumerate(digits.replace(".", "", 1)):
        segments = SEGMENTS[character]
        nibbles[1 + 2 * place] |= segments >> 4
        nibbles[2 + 2 * place] |= segments & 0xF
    return bytes(index << 4 | nibble for index, nibble in enumerate(nibbles, start=1))
