"""Measuring the charge that a unit keeps after it was switched off. Only numbers are said here."""

import math
from collections import deque
from typing import NamedTuple

from meterlog.detect import Motion, Settlement
from meterlog.detect.intake import Gate, Intake
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.model import PowerDown
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.words import time_text
from meterlog.procedure.view import Cue, Guide, Sound
from meterlog.quantity import Unit, show
from meterlog.reading import Coupling, Reading, State

FEWEST = 3
"""Readings that must say it, however slow the meter: nothing is taken on one."""

SEEN_FALLING = 0.25
"""The first reading below the limit is at least so much of the last one not below, where a capacitor was seen
to discharge; less is a jump, as of a probe that slips off."""


class Low(NamedTuple):
    """A reading whose magnitude, with one count of the display added, lies below the limit."""

    at_s: float
    value: float
    resolution: float
    range_max: float | None


@pattern_for.register
def _(step: PowerDown, _moment: Moment) -> Pattern:
    return PoweringDown(step)


class PoweringDown(Pattern):
    """Ends when every reading has been below the limit for the dwell. A falling voltage need not be settled:
    it counts with the largest of the last readings. A reading that shows no voltage begins the dwell anew.

    A probe that has slipped off shows a low voltage too. So the meter must have shown a voltage above the
    limit twice and have been seen falling from there, with nothing unseen between; or else the pedal must say
    that the probe is where it belongs.
    """

    def __init__(self, step: PowerDown) -> None:
        self.channel = step.channel
        self._limit, self._dwell_s = step.below, step.dwell
        self._gate = Gate()
        self._sight = Gate()  # the same for the proof, for which a change of range is no break
        self._now_s = 0.0  # only looked at
        self.restart()

    def begin(self, at_s: float) -> None:
        self._now_s = at_s

    def restart(self) -> None:
        self._gate.reset()
        self._run: deque[Low] = deque()
        self._seen_above = False
        self._forget_above()
        self._present: float | None = None
        self._why_not = "no reading yet"

    def _forget_above(self) -> None:
        """It proves no more that the probe is on."""
        self._above = 0  # readings above the limit
        self._before: float | None = None  # the magnitude before this reading, if that was not below

    def reading(self, at_s: float, reading: Reading) -> Progress:
        self._now_s = at_s
        self._why_not = _no_voltage(reading)
        value = None if self._why_not else reading.value
        state = State.INVALID if value is None else State.OK
        intake = self._gate.sort(at_s, value, state, reading.range_max)
        if self._sight.sort(at_s, value, state, None) not in (Intake.FOLLOWING, Intake.IGNORED):
            self._forget_above()
        if intake is Intake.IGNORED:
            return NOTHING
        if intake is not Intake.FOLLOWING:
            self._run.clear()
        self._present = value
        if value is not None:
            self._take(at_s, value, reading.resolution)
        return self._ended() if self._proven and self._above >= 2 else NOTHING

    def _take(self, at_s: float, value: float, count: float) -> None:
        level = abs(value)
        if level + count < self._limit.base:
            if self._before is not None and level < SEEN_FALLING * self._before:
                self._forget_above()
            self._before = None
            self._run.append(Low(at_s, value, count, self._gate.range_max))
            return
        self._run.clear()
        self._before = level
        self._above += level > self._limit.base
        self._seen_above = self._seen_above or level > self._limit.base

    @property
    def _low_for_s(self) -> float:
        return self._run[-1].at_s - self._run[0].at_s if self._run else 0.0

    @property
    def _proven(self) -> bool:
        return self._low_for_s >= self._dwell_s and len(self._run) >= FEWEST

    def go_on(self, at_s: float) -> Progress:
        if not self._proven or self._gate.silent(at_s):
            raise IllegalAction(
                f"{self._stands(at_s)}; it goes on by itself once that is measured. "
                "To leave it unmeasured, skip it with a reason"
            )
        return self._ended(f"; {self._unproven}, probe confirmed by the operator")

    @property
    def _unproven(self) -> str:
        """What was not seen."""
        what = "not seen falling below" if self._seen_above else "never seen above"
        return f"{what} {self._limit}"

    def _ended(self, remark: str = "") -> Progress:
        last = list(self._run)[-FEWEST:]
        worst = max(last, key=lambda low: abs(low.value))
        text = show(abs(worst.value), self._limit.scale, worst.resolution)
        reason = f"measured {text}, below {self._limit} for {self._dwell_s:g} s{remark}"
        capture = Capture(role=Role.MEASURED, channel=self.channel, settlement=_settlement(self._run, worst))
        return Progress(captures=(capture,), finished=True, reason=reason)

    def tick(self, at_s: float) -> Progress:
        self._now_s = at_s
        return NOTHING

    def guide(self) -> Guide:
        asks = self._proven and not self._gate.silent(self._now_s)
        return Guide(
            do_now=self._words(asks),
            awaiting_go_on=asks,
            channel=self.channel,
            present=self._present,
            progress=min(1.0, self._low_for_s / self._dwell_s) if self._run else None,
            why_not=self._why_not,
            cue=Cue(Sound.PRESS) if asks else Cue(),
        )

    def _words(self, asks: bool) -> str:
        if asks:
            return (
                f"Below the limit, but {self._unproven} here. Look whether the probe is on and the "
                "meter shows a voltage you know. Press when it is so."
            )
        return f"Hands out, probe on: {self._stands(self._now_s)}."

    def _stands(self, at_s: float) -> str:
        if self._present is None or self._gate.silent(at_s):
            return f"the stored charge is not measured ({self._why_not or 'no new reading'})"
        if self._run:
            left_s = max(1.0, self._dwell_s - self._low_for_s)
            return f"below {self._limit}, watched for {time_text(left_s)} more"
        return f"measured {show(abs(self._present), self._limit.scale)}, waiting for less than {self._limit}"


def _no_voltage(reading: Reading) -> str:
    """Why a reading tells nothing of a stored charge; "" if it does."""
    if reading.unfit:
        return f"the meter's display is on {', '.join(sorted(reading.unfit)).upper()}: switch that off"
    if reading.unit is not Unit.VOLT or reading.coupling is Coupling.AC:
        return "the meter does not measure DC voltage: a stored charge is one"
    return "" if reading.value is not None else f"the meter shows no number ({reading.state})"


def _settlement(run: deque[Low], worst: Low) -> Settlement:
    """The largest of the last readings as a value; its spread is what they have fallen by meanwhile."""
    magnitudes = [abs(low.value) for low in list(run)[-FEWEST:]]
    half_range = (max(magnitudes) - min(magnitudes)) / 2.0
    return Settlement(
        Motion.MOVING,
        value=worst.value,
        standard_uncertainty=math.hypot(half_range / math.sqrt(3.0), worst.resolution / math.sqrt(12.0)),
        degrees_of_freedom=FEWEST - 1.0,
        since_s=run[0].at_s,
        readings=len(run),
        resolution=worst.resolution,
        range_max=worst.range_max,
    )
