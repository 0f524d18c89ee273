"""Watching a level that nobody touches: does it stay, and does it drift?"""

import math
from dataclasses import replace
from typing import Any

from meterlog.accuracy import Verdict
from meterlog.detect import DriftRate, Motion, Settlement
from meterlog.detect.intake import Gate, Intake
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Beside, Role
from meterlog.procedure.model import Stability
from meterlog.procedure.patterns.base import Capture, Pattern, Progress
from meterlog.procedure.patterns.excursion import Excursion
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.ruling import Narrowing, Ruling
from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.patterns.words import time_text
from meterlog.procedure.view import Cue, Guide, Sound
from meterlog.quantity import Span, show_deviation
from meterlog.reading import Reading, State

START, FURTHEST, END = "at the start", "furthest from it", ""
"""What the three values are called; the one at the end is the step's value for others."""

DRIFT_WINDOW_S = 60.0
"""The drift is told over the last minute, or the last half of a longer time."""

GRACE = 5.0
"""Dwells that a level which is not settled when the time is over gets to become so; and the drift gets a
sixth of its window, which is what it needs to be told anew after a change of range."""


@pattern_for.register
def _(step: Stability, moment: Moment) -> Pattern:
    return Staying(step, moment.ruling)


class Staying(Pattern):
    """First the level must settle; from then it is watched. What was not seen begins it anew, unless the
    level has left already: that stands, and ends the step.
    """

    def __init__(self, step: Stability, ruling: Ruling) -> None:
        self.channel = step.channel
        self._step, self._span = step, step.span
        self._narrowing = Narrowing(ruling)
        self._watch = Watch(Stillness(step.settle_within, step.dwell, step.lag))
        self._gate = Gate()
        self._now_s = 0.0  # only looked at
        self._begin_anew()

    def restart(self) -> None:
        if self._has_left:
            self._broken_off = True
        else:
            self._begin_anew()

    def _begin_anew(self) -> None:
        self._watch.restart()
        self._gate.reset()
        self._broken_off = False
        self._drift = DriftRate(self._drift_window_s)
        self._per_minute: float | None = None
        self._start: Settlement | None = None
        self._excursion: Excursion | None = None
        self._began_s = 0.0
        if self._step.target is not None:
            self._narrowing.foresee(self._window(self._step.aim.base), self.channel, Role.MEASURED)

    @property
    def _drift_window_s(self) -> float:
        return max(min(self._step.time, DRIFT_WINDOW_S), self._step.time / 2.0)

    def reading(self, at_s: float, reading: Reading) -> Progress:
        self._now_s = at_s
        if self._blind(at_s, reading) and self._excursion is not None:
            self.restart()
        if self._broken_off:
            return self._ended(None, "not watched after that")
        settlement = self._watch.feed(at_s, reading)
        if self._excursion is None:
            return self._begun(at_s) if self._watch.settled else Progress(settlement.motion)
        self._see(at_s, reading)
        return self._judged(at_s) if at_s - self._began_s >= self._step.time else Progress(settlement.motion)

    def _blind(self, at_s: float, reading: Reading) -> bool:
        """Whether nobody saw what the level did; an overload is a level that was seen to go away. A reading
        that is merely late, of a meter that sends many a second, hides nothing: silence does."""
        silent = self._gate.silent(at_s)
        shown = not reading.unfit and (reading.value is not None or reading.state is State.OVERLOAD)
        # The gate looks at times and whether something was shown, not at what.
        intake = self._gate.sort(at_s, 0.0 if shown else None, State.OK if shown else State.INVALID, None)
        return silent or intake is Intake.BROKEN

    def _begun(self, at_s: float) -> Progress:
        self._start = self._watch.settlement
        assert self._start.value is not None
        window = self._window(self._start.value)
        self._excursion, self._began_s = Excursion(self._start.value, at_s, window), at_s
        capture = self._capture(START, self._start)
        if self._step.target is None:
            about = Beside(START, Role.MEASURED)
            self._narrowing.foresee(window, self.channel, Role.MEASURED, capture, about=about)
        outside = not window.contains(self._start.value)
        reason = "outside the window at the start" if outside else ""
        return Progress(Motion.SETTLED, (capture,), outside, capture.verdict, reason)

    def _window(self, start: float) -> Window:
        target = start if self._step.target is None else self._step.aim.base
        return Window.around(target, self._span)

    def _see(self, at_s: float, reading: Reading) -> None:
        assert self._excursion is not None
        if reading.state is State.OVERLOAD:
            self._excursion.see(at_s, math.inf)
        elif reading.value is not None:
            self._excursion.see(at_s, reading.value)
        found = self._drift.update(
            at_s, reading.value, reading.state, resolution=reading.resolution, range_max=reading.range_max
        )
        self._per_minute = None if found.rate_per_s is None else 60.0 * found.rate_per_s

    # -- the end ------------------------------------------------------------------------------------

    def _judged(self, at_s: float) -> Progress:
        known = self._watch.settled and self._per_minute is not None
        over_s = at_s - self._began_s - self._step.time
        if known:
            return self._ended(self._watch.settlement)
        if over_s < max(GRACE * self._step.dwell, self._drift_window_s / 6.0):
            return Progress(self._watch.settlement.motion)
        return self._ended(None, f"not still at the end ({self._watch.why_not or 'no drift known'})")

    def _ended(self, end: Settlement | None, unfinished: str = "") -> Progress:
        """Passes if it stayed inside and does not drift; the values alone decide."""
        parts = [self._stayed(), unfinished or self._drifted()]
        held = not unfinished and self._excursion is not None and self._excursion.left_after_s is None
        verdict = Verdict.PASS if held and not self._drifts else Verdict.FAIL
        captures = [*self._start_again(), *self._furthest(), *([self._capture(END, end)] if end else [])]
        reason = "; ".join(part for part in parts if part)
        return Progress(self._watch.settlement.motion, tuple(captures), True, verdict, reason)

    @property
    def _drifts(self) -> bool:
        assert self._excursion is not None
        limit = self._step.drift_per_minute.half_width(self._excursion.start)
        return self._per_minute is None or abs(self._per_minute) > limit

    def _stayed(self) -> str:
        seen = self._excursion
        assert seen is not None
        far = f"furthest after {time_text(seen.furthest_after_s)}: {seen.words(self._span)}"
        if seen.left_after_s is None:
            return f"stayed inside for {time_text(self._step.time)}, {far}"
        return f"left the window after {time_text(seen.left_after_s)}, {far}"

    def _drifted(self) -> str:
        if self._per_minute is None or self._excursion is None:
            return ""
        start = self._excursion.start
        limit = self._step.drift_per_minute
        return f"drift {_per_minute(limit, start, self._per_minute)} a minute, limit {limit}"

    def _start_again(self) -> list[Capture]:
        """The start belongs to what is reported, also where it was taken before an interruption."""
        assert self._start is not None
        return [replace(self._capture(START, self._start), again=True)] if self._broken_off else []

    def _furthest(self) -> list[Capture]:
        assert self._excursion is not None
        assert self._start is not None
        furthest = self._excursion.as_sure_as(self._start, self._began_s)
        return [self._capture(FURTHEST, furthest)] if furthest else []

    def _capture(self, condition: str, settlement: Settlement) -> Capture:
        """A window that lies about the start judges the others by it, and not the start itself."""
        assert self._start is not None
        assert self._start.value is not None
        by_start, is_start = self._step.target is None, condition == START
        return Capture(
            role=Role.MEASURED,
            channel=self.channel,
            settlement=settlement,
            condition=condition,
            about=Beside(START, Role.MEASURED) if by_start and not is_start else None,
            **({} if by_start and is_start else self._window(self._start.value).limits()),
        )

    # -- what is said -------------------------------------------------------------------------------

    @property
    def _has_left(self) -> bool:
        return self._excursion is not None and self._excursion.left_after_s is not None

    @property
    def verdict_so_far(self) -> Verdict:
        return Verdict.FAIL if self._has_left else Verdict.NOT_JUDGED

    def go_on(self, at_s: float) -> Progress:
        if not self._has_left:
            raise IllegalAction("the level is being watched; it goes on by itself when the time is over")
        known = self._watch.settled and not self._broken_off
        return self._ended(self._watch.settlement if known else None, "ended by the operator")

    def tick(self, at_s: float) -> Progress:
        self._now_s = at_s
        return Progress()

    def guide(self) -> Guide:
        return self._waiting() if self._excursion is None else self._watching(self._excursion.start)

    def _waiting(self) -> Guide:
        target = None if self._step.target is None else self._step.aim.base
        return Guide(
            do_now="Hands off: waiting until it is still.",
            channel=self.channel,
            present=self._watch.present,
            why_not=self._watch.why_not,
            **({} if target is None else self._told(target)),
        )

    def _told(self, start: float) -> dict[str, Any]:
        """The window, what of it passes and the way to it, as keywords of a guide."""
        window = self._narrowing.of(self._window(start))
        return window.bounds() | window.distance(self._watch.present)

    def _watching(self, start: float) -> Guide:
        passed_s = self._now_s - self._began_s
        return Guide(
            do_now=self._words(max(0.0, self._step.time - passed_s)),
            awaiting_go_on=self._has_left,
            channel=self.channel,
            present=self._watch.present,
            progress=min(1.0, passed_s / self._step.time),
            cue=Cue(Sound.PRESS) if self._has_left else Cue(),
            **self._told(start),
        )

    def _words(self, left_s: float) -> str:
        if self._has_left:
            return f"It {self._stayed()}. Press to end it, or watch on."
        return f"Leave it alone: watched for {time_text(left_s)} more. {self._drifted()}".rstrip()


def _per_minute(limit: Span, start: float, rate: float) -> str:
    return show_deviation(limit, start + rate, start)
