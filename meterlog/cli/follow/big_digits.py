"""Digits of seven bars each, drawn with full blocks, to be read from across the room."""

_BARS = {
    "0": "abcdef",
    "1": "bc",
    "2": "abdeg",
    "3": "abcdg",
    "4": "bcfg",
    "5": "acdfg",
    "6": "acdefg",
    "7": "abc",
    "8": "abcdefg",
    "9": "abcdfg",
    "-": "g",
}
_NARROW = {".": ("", "", "", "", "█"), ",": ("", "", "", "", "█"), " ": ("", "", "", "", "")}
TALLEST = 9
BLOCK = "█"


def big(text: str, width: int, rows: int = TALLEST) -> list[str]:
    """Lines of equal length that draw `text`, as large as `width` and `rows` allow; just the text if none do.

    Characters that have no drawing (letters of "overload") make it plain text as well.
    """
    if not text or any(mark not in _BARS and mark not in _NARROW and mark != "+" for mark in text):
        return [text]
    for across, tall in ((10, 9), (8, 7), (6, 5), (4, 5)):
        lines = _drawn(text, across, tall)
        if len(lines[0]) <= width and tall <= rows:
            return lines
    return [text]


def _drawn(text: str, across: int, tall: int) -> list[str]:
    glyphs = [_glyph(mark, across, tall) for mark in text]
    return [" ".join(rows) for rows in zip(*glyphs, strict=True)]


def _glyph(mark: str, across: int, tall: int) -> list[str]:
    if mark in _NARROW:
        foot = _NARROW[mark][-1] * max(1, across // 4)
        return [" " * max(1, len(foot))] * (tall - 1) + [foot or " "]
    if mark == "+":
        return _plus(across, tall)
    return [_row(_BARS[mark], row, across, tall) for row in range(tall)]


def _plus(across: int, tall: int) -> list[str]:
    thick = max(1, across // 4)
    pad = (across - thick) // 2
    upright = " " * pad + BLOCK * thick + " " * (across - pad - thick)
    middle = tall // 2
    reach = range(middle - tall // 4, middle + tall // 4 + 1)
    return [
        BLOCK * across if row == middle else upright if row in reach else " " * across for row in range(tall)
    ]


def _row(bars: str, row: int, across: int, tall: int) -> str:
    """One line of a digit: a full bar at top, middle and bottom, uprights at both sides elsewhere."""
    thick = max(1, across // 4)
    middle = tall // 2
    level = {0: "a", middle: "g", tall - 1: "d"}.get(row, "")
    if level and level in bars:
        return BLOCK * across
    left, right = _uprights(bars, row, middle)
    return (BLOCK if left else " ") * thick + " " * (across - 2 * thick) + (BLOCK if right else " ") * thick


def _uprights(bars: str, row: int, middle: int) -> tuple[bool, bool]:
    upper, lower = row <= middle, row >= middle
    left = (upper and "f" in bars) or (lower and "e" in bars)
    right = (upper and "b" in bars) or (lower and "c" in bars)
    return left, right
