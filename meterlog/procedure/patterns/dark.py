"""An indicator that stays dark: told by a level left at the highest one allowed, without a press."""

from meterlog.procedure.model import Threshold
from meterlog.procedure.patterns.watch import Watch

_LAST_CALL_S = 2.0
"""So long, beyond the indicator's own delay, a settled level must stand there."""


class Dark:
    """Hands-free: holding still where it may go no higher says that it did not come on."""

    def __init__(self, step: Threshold) -> None:
        self._most = None if step.no_higher_than is None else step.no_higher_than.base
        self._from = None if self._most is None else step.settle_within.low(self._most)
        self._needed_s = _LAST_CALL_S + step.delay
        self.rounds = 0
        self.anew()

    def anew(self) -> None:
        self._since_s: float | None = None

    def reached(self, level: float | None) -> bool:
        """Whether it is as high as it may go."""
        return self._from is not None and level is not None and level >= self._from

    def sees(self, at_s: float, watch: Watch) -> bool:
        """Whether the level has stood there long enough, settled."""
        if not (watch.settled and self.reached(watch.level)):
            self._since_s = None
        elif self._since_s is None:
            self._since_s = at_s
        return self._since_s is not None and at_s - self._since_s >= self._needed_s
