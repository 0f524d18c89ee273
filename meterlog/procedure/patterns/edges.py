"""Both edges of an indicator: where it is to go off, whether a trimmer can help, what to say of it."""

from typing import Any

from meterlog.accuracy import Verdict
from meterlog.detect import Settlement
from meterlog.procedure.events import Beside, Role
from meterlog.procedure.model import Threshold


class Edges:
    """What is known of one round."""

    def __init__(self, step: Threshold) -> None:
        self._step = step
        self.lit: float | None = None
        self._lit_at_most = 0.0  # with what it is known to
        self.unlit: float | None = None
        self.verdict = Verdict.NOT_JUDGED  # of the level at which it came on, by the limits
        self.lit_passes = False  # by the procedure's rule

    def came_on(self, settlement: Settlement, verdict: Verdict, *, passes: bool) -> None:
        assert settlement.value is not None
        assert settlement.standard_uncertainty is not None
        self.lit, self.unlit, self.verdict = settlement.value, None, verdict
        self.lit_passes = passes
        self._lit_at_most = settlement.value + 2.0 * settlement.standard_uncertainty

    def stayed_dark(self) -> None:
        self.lit = self.unlit = None
        self.verdict, self.lit_passes = Verdict.FAIL, False

    def off_limits(self) -> dict[str, Any]:
        """target, low and high of the level at which it goes off, where it is judged; about what they lie."""
        step = self._step
        if step.off_target is not None and step.off_tolerance is not None:
            base = step.off_target.base
            return {
                "target": base,
                "low": step.off_tolerance.low(base),
                "high": step.off_tolerance.high(base),
            }
        if step.hysteresis is not None and self.lit is not None:
            low = step.hysteresis.low(self.lit)
            return {"low": low, "high": self._lit_at_most, "about": Beside("", Role.LIT)}
        return {}

    @property
    def apart(self) -> bool:
        """Whether on and off lie too far from each other, or too near, for any setting to fit both.

        A trimmer is taken to move both alike: what is between them stays.
        """
        if self.lit is None or self.unlit is None:
            return False
        step = self._step
        if step.hysteresis is not None:
            return self.goes_off_above or self.unlit < step.hysteresis.low(self.lit)
        off = self.off_limits()
        if not off:
            return False
        gap = self.lit - self.unlit
        return not step.low - off["high"] <= gap <= step.high - off["low"]

    @property
    def goes_off_above(self) -> bool:
        """Whether it went off, falling, above where it came on, rising: no indicator does."""
        judged = self._step.hysteresis is not None and self.unlit is not None
        return judged and self.unlit is not None and self.unlit > self._lit_at_most

    @property
    def reason(self) -> str:
        """What lies between them; and where that is too much, so."""
        if self.lit is None or self.unlit is None:
            return ""
        span = self._step.hysteresis or self._step.tolerance
        gap = f"{span.deviation(self.lit, self.unlit):.3g} {span.shown_unit} between on and off"
        if not self.apart:
            return gap
        if self.goes_off_above:
            return f"{gap}: it went off above where it came on; was the right change marked?"
        if self._step.hysteresis is not None:
            return f"{gap}, {self._step.hysteresis} at most"
        return f"{gap}: no setting fits both"

    @property
    def words(self) -> str:
        """What is wrong with them, to the hand on the trimmer."""
        if self.lit is None:
            return f"It stayed dark up to {self._step.no_higher_than}."
        off = self.off_limits()
        if self.lit_passes and off and self.unlit is not None:
            return f"It went off too {'high' if self.unlit > off['high'] else 'low'} ({self.reason})."
        return f"It came on {'too early' if self.lit < self._step.aim.base else 'too late'}."
