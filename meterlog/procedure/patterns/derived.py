"""A value computed from what earlier steps came to, or from a channel as it is now and one other value."""

from typing import Any

from meterlog.detect import Motion, Settlement
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Beside, Role
from meterlog.procedure.formulas import Input, computed, formula_for, input_now, input_of, stated
from meterlog.procedure.model import Derived
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Guide
from meterlog.quantity import Unit, base_scale, show
from meterlog.reading import Reading

_NEAR = 0.1
"""Share of a level that it may move without its guard band being foreseen anew."""


@pattern_for.register
def _(step: Derived, moment: Moment) -> Pattern:
    calculation = Calculation(step, _other(step, moment), moment.ruling)
    if step.of is not None:
        return Deriving(calculation, input_of(moment.value_at(step.of)))
    return DerivingNow(calculation, step)


def _other(step: Derived, moment: Moment) -> Input:
    if step.against is not None:
        return input_of(moment.value_at(step.against))
    if step.nominal is not None:
        return stated(step.nominal)
    assert step.resistor is not None
    return stated(step.resistor, step.resistor_tolerance)


class Calculation:
    """The formula of a step with its second value and its window, narrowed as the rule will have it."""

    def __init__(self, step: Derived, other: Input, ruling: Ruling) -> None:
        octave = step.volts_per_octave
        self._formula = formula_for(step.kind, other.unit, octave.base if octave else None)
        self._unit = step.unit
        self._other = other
        self._window = Window.around(step.aim.base, step.tolerance) if step.tolerance else None
        self._ruling = ruling

    def capture(self, one: Input) -> Capture | None:
        """None where the two values have no result."""
        result = computed(self._formula, one, self._other)
        if result is None:
            return None
        return Capture(
            role=Role.DERIVED,
            channel="",
            unit=self._unit,
            settlement=result.settlement,
            shares=result.shares,
            **(self._window.limits() if self._window else {}),
        )

    def foresee(self, *captures: Capture) -> None:
        """How wide the guard band will be for the last of these; the others are kept before it."""
        if self._window is not None:
            self._window = self._window.narrowed(self._ruling.guard_band(*captures))

    def told(self, one: Input | None) -> dict[str, Any]:
        """What it comes to, its window and the way to it, as keywords of a guide."""
        capture = None if one is None else self.capture(one)
        present = None if capture is None else capture.settlement.value
        window = self._window
        return {"present": present} | (window.bounds() | window.distance(present) if window else {})

    def failed(self, one: Input) -> str:
        values = " and ".join(show(each.value, base_scale(each.unit)) for each in (one, self._other))
        return f"{values} have no such result: redo what they come from, or skip this step"


class Deriving(Pattern):
    """Of settled values: nothing to wait for, so it ends as soon as it has begun."""

    def __init__(self, calculation: Calculation, one: Input) -> None:
        self._calculation, self._one = calculation, one
        if capture := calculation.capture(one):
            calculation.foresee(capture)

    def tick(self, at_s: float) -> Progress:
        capture = self._calculation.capture(self._one)
        if capture is None:
            return NOTHING
        return Progress(None, (capture,), finished=True, verdict=capture.verdict)

    def go_on(self, at_s: float) -> Progress:
        progress = self.tick(at_s)
        if not progress.finished:
            raise IllegalAction(self._calculation.failed(self._one))
        return progress

    def guide(self) -> Guide:
        possible = self._calculation.capture(self._one) is not None
        words = "Computing." if possible else f"Not to be computed: {self._calculation.failed(self._one)}."
        return Guide(do_now=words, **self._calculation.told(self._one))


class DerivingNow(Pattern):
    """Of a channel as it settles now. Its level is kept beside what is computed from it."""

    def __init__(self, calculation: Calculation, step: Derived) -> None:
        assert step.channel is not None
        assert step.settle is not None
        self.channel = step.channel
        self._calculation = calculation
        self._watch = Watch(Stillness(step.settle, step.dwell, step.lag))
        self._failed = ""
        self._unit: Unit | None = None  # of the level
        self._foreseen_at = 0.0

    def restart(self) -> None:
        self._watch.restart()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        settlement = self._watch.feed(at_s, reading)
        self._unit = reading.unit
        self._foresee()
        if not self._watch.settled:
            return Progress(settlement.motion)
        one = input_now(settlement, reading.unit, Beside("", Role.MEASURED))
        derived = self._calculation.capture(one)
        self._failed = "" if derived else self._calculation.failed(one)
        if derived is None:
            return Progress(settlement.motion)
        captures = (self._measured(settlement), derived)
        return Progress(settlement.motion, captures, finished=True, verdict=derived.verdict)

    @property
    def _now(self) -> Input | None:
        """The level that is there, as sure as its meter is."""
        present = self._watch.present
        if present is None or self._unit is None:
            return None
        return input_now(_still(present), self._unit, Beside("", Role.MEASURED))

    def _foresee(self) -> None:
        """Anew where the level has moved far from where it was done: the guard band goes with it."""
        one = self._now
        if one is None or abs(one.value - self._foreseen_at) <= _NEAR * abs(one.value):
            return
        self._foreseen_at = one.value
        if derived := self._calculation.capture(one):
            self._calculation.foresee(self._measured(_still(one.value)), derived)

    def _measured(self, settlement: Settlement) -> Capture:
        return Capture(role=Role.MEASURED, channel=self.channel, settlement=settlement)

    def go_on(self, at_s: float) -> Progress:
        raise IllegalAction(self._failed or f"not settled yet ({self._watch.why_not or 'no reading'})")

    def guide(self) -> Guide:
        words = f"Not to be computed: {self._failed}." if self._failed else "Hands off: measuring."
        return Guide(
            do_now=words,
            channel=self.channel,
            computed=True,
            why_not=self._watch.why_not,
            **self._calculation.told(self._now),
        )


def _still(level: float) -> Settlement:
    return Settlement(Motion.SETTLED, value=level, standard_uncertainty=0.0)
