"""The last minute of a channel as one line of blocks, and a level's place in its window as another."""

import math
from collections import deque
from typing import Any

SPAN_S = 60.0
_HEIGHTS = "▁▂▃▄▅▆▇█"
_NONE = " "
_BESIDE = 2.0  # half windows shown beyond each limit


class Trace:
    """Readings of one channel at a time, by their own dates."""

    def __init__(self) -> None:
        self._channel = ""
        self._points: deque[tuple[float, float | None]] = deque()

    def follow(self, channel: str) -> None:
        if channel != self._channel:
            self._channel = channel
            self._points.clear()

    def add(self, reading: dict[str, Any]) -> None:
        """A reading as the stream has it; one that shows no number makes a gap."""
        if reading["channel"] != self._channel:
            return
        at_s = reading["time_ns"] / 1e9
        self._points.append((at_s, reading["shown"]))
        while self._points[0][0] < at_s - SPAN_S:
            self._points.popleft()

    def line(self, columns: int, now_s: float) -> str:
        """The newest reading at the right; each column shows the last reading of its share of the minute."""
        cells: list[float | None] = [None] * columns
        for at_s, shown in self._points:
            column = columns - 1 - int((now_s - at_s) / SPAN_S * columns)
            if 0 <= column < columns:
                cells[column] = shown
        numbers = [cell for cell in cells if cell is not None]
        if not numbers:
            return _NONE * columns
        return "".join(_NONE if cell is None else _height(cell, min(numbers), max(numbers)) for cell in cells)


def _height(number: float, lowest: float, highest: float) -> str:
    share = (number - lowest) / (highest - lowest) if highest > lowest else 0.5
    return _HEIGHTS[min(int(share * len(_HEIGHTS)), len(_HEIGHTS) - 1)]


def window_line(guide: dict[str, Any], columns: int) -> str:
    """`[` and `]` are the limits, `(` and `)` what passes where that is less, `:` the target, `◆` the level
    now, at the edge if it lies beyond.

    "" where no window is.
    """
    low, high, present = guide["low"], guide["high"], guide["present"]
    if low is None or high is None or not high > low:
        return ""
    ends = {guide["accept_low"]: "(", guide["accept_high"]: ")"}
    passing = {level: mark for level, mark in ends.items() if level is not None}
    marks = passing | {low: "[", high: "]"} | ({} if guide["target"] is None else {guide["target"]: ":"})
    line = ["·"] * columns
    for level, mark in (*marks.items(), *([] if present is None else [(present, "◆")])):
        line[_column(level, low, high, columns)] = mark
    return "".join(line)


def _column(level: float, low: float, high: float, columns: int) -> int:
    half = (high - low) / 2.0
    bottom, whole = low - _BESIDE * half, 2.0 * half * (1.0 + _BESIDE)
    share = min(1.0, max(0.0, (level - bottom) / whole))
    return min(columns - 1, math.floor(share * columns))
