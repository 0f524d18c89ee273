"""What the procedure's rule will say of a value, asked before it is kept: the hand needs that answer.

How sure a value is rests on its readings and on what is stated of its meter. The second is known before a
level has come anywhere near, so a window can be narrowed when its step begins; the first is known once the
level has settled, and then the rule is asked again.
"""

from collections.abc import Callable

from meterlog.accuracy import Verdict, decide
from meterlog.detect import Motion, Settlement
from meterlog.procedure.events import Origin, Role
from meterlog.procedure.patterns.base import Capture
from meterlog.procedure.patterns.window import Window

Asked = Callable[[tuple[Capture, ...]], float]
"""The width of the guard band for the last of these captures, were they kept now."""


class Ruling:
    """Of one step; where the limits alone decide it narrows nothing and agrees with them."""

    def __init__(self, asked: Asked | None = None) -> None:
        self._asked = asked

    def guard_band(self, *captures: Capture) -> float:
        return self._asked(captures) if self._asked else 0.0

    def likely(
        self,
        window: Window,
        channel: str,
        role: Role,
        *before: Capture,
        condition: str = "",
        about: Origin | None = None,
    ) -> float:
        """The width where nothing has settled yet: of a level on the target that is as sure as its meter is.
        `before`: what will be kept with it that its limits lie about."""
        if self._asked is None:
            return 0.0
        level = Settlement(Motion.SETTLED, value=window.target, standard_uncertainty=0.0)
        capture = Capture(
            role=role,
            channel=channel,
            settlement=level,
            condition=condition,
            about=about,
            **window.limits(),
        )
        return self.guard_band(*before, capture)

    def passes(self, *captures: Capture) -> bool:
        """Whether the last of these does by the rule. By the limits alone where that leaves not even the
        target, or where no target is turned to."""
        last, width = captures[-1], self.guard_band(*captures)
        if last.target is None or decide(last.target, last.low, last.high, width) is Verdict.FAIL:
            width = 0.0
        return last.within(width)


class Narrowing:
    """The guard band that a hand is held to in one step: as foreseen, then as its settled level has it.

    unsure  the level is known less well than its meter allows, and so little that not even the target passes
    """

    def __init__(self, ruling: Ruling) -> None:
        self._ruling = ruling
        self._width = 0.0
        self.unsure = False

    def foresee(
        self,
        window: Window,
        channel: str,
        role: Role,
        *before: Capture,
        condition: str = "",
        about: Origin | None = None,
    ) -> None:
        """As of `Ruling.likely`."""
        self._width = self._ruling.likely(window, channel, role, *before, condition=condition, about=about)

    def of(self, window: Window) -> Window:
        return window.narrowed(self._width)

    def lets_go(self, window: Window, *captures: Capture, pressed: bool = False) -> bool:
        """Whether the last of these may be kept as it is: it passes, or nothing in the window ever would.
        Else it has to come nearer, or be known better: then who presses has it judged as it is."""
        width = self._ruling.guard_band(*captures)
        hopeless = self.of(window).nothing_left
        if captures[-1].within(width) or hopeless:
            self.unsure = False
            return True
        self.unsure = window.narrowed(width).nothing_left
        if not self.unsure:
            self._width = width
        return self.unsure and pressed
