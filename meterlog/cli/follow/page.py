"""Fits the picture into the terminal. The list of steps gives way first, then the size of the digits.

What stands at the foot (meters, the last word, the keys or what is being typed) always shows.
"""

from dataclasses import dataclass

from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.segment import Segment
from rich.text import Text

from meterlog.cli.follow.big_digits import TALLEST
from meterlog.cli.follow.picture import Scene, foot, steps, upper

_FEW = 3  # the step before, the one at hand and the next
_LAYOUTS = ((TALLEST, _FEW), (7, _FEW), (5, _FEW), (5, 0), (1, 0))  # rows of the digits, steps at least

Lines = list[list[Segment]]


@dataclass(frozen=True)
class Page:
    """The scene as one picture, no higher than the terminal."""

    scene: Scene

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        fit = _Fit(console, options)
        below = fit.lines(foot(self.scene))
        above = fit.above(self.scene, max(0, options.max_height - len(below)))
        for line in [*above, *below]:
            yield from line
            yield Segment.line()


@dataclass(frozen=True)
class _Fit:
    console: Console
    options: ConsoleOptions

    def lines(self, parts: list[RenderableType]) -> Lines:
        return self.console.render_lines(Group(*parts), self.options, pad=False) if parts else []

    def above(self, scene: Scene, room: int) -> Lines:
        table, here = steps(scene)
        plan = self.lines([table])
        for rows, fewest in _LAYOUTS:
            top = self.lines(upper(scene, self.options.max_width, rows))
            if len(top) + min(len(plan), fewest) <= room:
                return top + self._round(plan, here, room - len(top))
        return top[:room]

    def _round(self, plan: Lines, here: int, space: int) -> Lines:
        """As many lines as there is space for, the step at hand among them, and a mark where some are cut."""
        if len(plan) <= space:
            return plan
        if space < _FEW:
            return plan[here : here + space]
        first = min(max(0, here - space // 2), len(plan) - space)
        cut = plan[first : first + space]
        if first > 0:
            cut[0] = self._more(first + 1, "above")
        if first + space < len(plan):
            cut[-1] = self._more(len(plan) - first - space + 1, "below")
        return cut

    def _more(self, count: int, where: str) -> list[Segment]:
        return self.lines([Text(f"⋮  {count} more {where}", style="dim")])[0]
