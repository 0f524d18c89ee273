"""Patterns without a hand on a trimmer: prepare, warm up, measure."""

from meterlog.detect import Drift, DriftRate
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.model import Prepare, WarmUp
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.patterns.words import time_text
from meterlog.procedure.view import Guide
from meterlog.quantity import show_deviation
from meterlog.reading import Reading, State

RECORDED = "It is recorded, not judged."


@pattern_for.register
def _(_step: Prepare, _moment: Moment) -> Pattern:
    return Confirm("Press to go on.")


@pattern_for.register
def _(step: WarmUp, _moment: Moment) -> Pattern:
    return WarmingUp(step)


class Confirm(Pattern):
    """Ends with the pedal. A prepare step whose setup was confirmed has nothing more to do."""

    def __init__(self, do_now: str) -> None:
        self._do_now = do_now

    def go_on(self, at_s: float) -> Progress:
        return Progress(finished=True)

    def guide(self) -> Guide:
        return Guide(do_now=self._do_now, awaiting_go_on=True)


class Unreferenced(Pattern):
    """A step that rests on others without a value: it can only be left."""

    def __init__(self, needs: tuple[str, ...]) -> None:
        self._why = f"{' and '.join(needs)} came to no value"

    def go_on(self, at_s: float) -> Progress:
        raise IllegalAction(f"{self._why}: redo that step, or skip this one with a reason")

    def guide(self) -> Guide:
        return Guide(do_now=f"Nothing to judge by: {self._why}. Redo that step, or skip this one.")


class WarmingUp(Pattern):
    """Ends when the time has passed and the drift is below its limit; the pedal ends it early, on record.

    After an interruption the time begins anew, with the next reading of its channel or else with the pedal:
    nobody saw whether the unit stayed on.
    """

    def __init__(self, step: WarmUp) -> None:
        self.channel = step.channel or ""
        self._time_s = step.time
        self._limit = step.drift_per_minute
        self._shown_s = 0.0  # only looked at
        self._began_s: float | None = None
        self.restart()

    def begin(self, at_s: float) -> None:
        self._began_s = self._shown_s = at_s

    def restart(self) -> None:
        self._began_s = None  # a tick is no witness: only what is on record begins it
        self._drift = DriftRate()
        self._present: float | None = None
        self._per_minute: float | None = None

    def reading(self, at_s: float, reading: Reading) -> Progress:
        state, value = (State.INVALID, None) if reading.unfit else (reading.state, reading.value)
        found = self._drift.update(
            at_s, value, state, resolution=reading.resolution, range_max=reading.range_max
        )
        self._present = value
        self._per_minute = _most_per_minute(found)
        if self._began_s is None and value is not None:
            self.begin(at_s)
        return self.tick(at_s)

    def tick(self, at_s: float) -> Progress:
        self._shown_s = at_s
        warm = self._began_s is not None and self._passed_s(at_s) >= self._time_s
        return Progress(finished=True) if warm and self._steady(at_s) else NOTHING

    def _passed_s(self, at_s: float) -> float:
        return 0.0 if self._began_s is None else at_s - self._began_s

    def go_on(self, at_s: float) -> Progress:
        """Overridden: what it still lacked goes on record."""
        if self._began_s is None:
            self.begin(at_s)
            return NOTHING
        lacking = self._lacking(at_s)
        return Progress(finished=True, reason="; ".join(["ended early by the operator", *lacking]))

    def _lacking(self, at_s: float) -> list[str]:
        passed_s = self._passed_s(at_s)
        clock = f"{time_text(passed_s)} of {time_text(self._time_s)}" if passed_s < self._time_s else ""
        drift = "" if self._steady(at_s) else f"{self._drift_text()}, limit {self._limit}"
        return [part for part in (clock, drift) if part]

    def _drift_text(self) -> str:
        if self._limit is None or self._per_minute is None or self._present is None:
            return "drift not known"
        most = show_deviation(self._limit, self._present + self._per_minute, self._present)
        return f"drift up to {most.lstrip('+')} a minute"

    def _steady(self, at_s: float) -> bool:
        if self._limit is None:
            return True
        if self._per_minute is None or self._present is None or self._drift.silent(at_s):
            return False
        return self._per_minute <= self._limit.half_width(self._present)

    def guide(self) -> Guide:
        if self._began_s is None:
            return self._interrupted()
        passed_s = self._passed_s(self._shown_s)
        left_s = max(0.0, self._time_s - passed_s)
        words = f"Warming up: {time_text(left_s)} to go." if left_s else "Warm by the clock."
        if self._limit is not None and not self._steady(self._shown_s):
            words += f" Waiting for less drift than {self._limit} a minute: {self._drift_text()}."
        return Guide(
            do_now=words + " Press to end it early.",
            channel=self.channel,
            present=self._present,
            progress=min(1.0, passed_s / self._time_s) if self._time_s else 1.0,
        )

    def _interrupted(self) -> Guide:
        begins = "with the next reading, or press" if self.channel else "when you press"
        return Guide(
            do_now=f"Interrupted: nobody saw whether the unit stayed on. Its {time_text(self._time_s)} begin"
            f" anew {begins}.",
            awaiting_go_on=True,
            channel=self.channel,
            present=self._present,
        )


def _most_per_minute(found: Drift) -> float | None:
    """The largest drift that the readings allow: the rate and twice its standard error."""
    if found.rate_per_s is None or found.standard_error is None:
        return None
    return 60.0 * (abs(found.rate_per_s) + 2.0 * found.standard_error)


class Measuring(Pattern):
    """Captures the level as soon as it has settled; judges it where a window is given."""

    def __init__(self, channel: str, stillness: Stillness, window: Window | None) -> None:
        self.channel = channel
        self.watch = Watch(stillness)
        self._window = window

    def restart(self) -> None:
        self.watch.restart()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        settlement = self.watch.feed(at_s, reading)
        if not self.watch.settled:
            return Progress(settlement.motion)
        limits = self._window.limits() if self._window else {}
        capture = Capture(role=Role.MEASURED, channel=self.channel, settlement=settlement, **limits)
        return Progress(settlement.motion, (capture,), finished=True, verdict=capture.verdict)

    def go_on(self, at_s: float) -> Progress:
        raise IllegalAction(f"not settled yet ({self.watch.why_not or 'no reading'}); it is taken by itself")

    def guide(self) -> Guide:
        limits = self._window.bounds() if self._window else {}
        distance = self._window.distance(self.watch.present) if self._window else {}
        return Guide(
            do_now=f"Hands off: measuring. {'' if self._window else RECORDED}".rstrip(),
            channel=self.channel,
            present=self.watch.present,
            why_not=self.watch.why_not,
            **limits,
            **distance,
        )
