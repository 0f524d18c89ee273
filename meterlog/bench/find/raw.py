"""Bytes as a person compares them with a manual: hexadecimal, and beside it the text where it is text."""

WIDTH = 16


def dump(data: bytes, most: int = 4 * WIDTH) -> list[str]:
    """Lines of 16 bytes, the first `most` bytes; the last line says how many more there are."""
    shown = data[:most]
    lines = [dump_line(shown[start : start + WIDTH]) for start in range(0, len(shown), WIDTH)]
    rest = len(data) - len(shown)
    return [*lines, f"and {rest} more bytes"] if rest else lines


def dump_line(data: bytes) -> str:
    """One line: "41 0D         A."; what is no printable ASCII is a dot."""
    return f"{data.hex(' ').upper():<{3 * WIDTH - 1}}  {printable(data)}"


def printable(data: bytes) -> str:
    return "".join(chr(byte) if 0x20 <= byte < 0x7F else "." for byte in data)
