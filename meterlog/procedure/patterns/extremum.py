"""Find a maximum or minimum from both sides, then return to it and stay."""

from meterlog.procedure.patterns.base import Progress
from meterlog.procedure.patterns.peaked import AFRESH, Peaked, Phase
from meterlog.procedure.patterns.window import Window
from meterlog.reading import Reading


class SeekingExtremum(Peaked):
    """Through the extremum and out on the other side; then back to within the tolerance of it."""

    def reading(self, at_s: float, reading: Reading) -> Progress:
        self._search.feed(at_s, reading)
        self._follow_search()
        return self._settling(at_s, reading)

    def _follow_search(self) -> None:
        """Something higher than a bracketed extremum takes the bracket back: that was a side peak."""
        phase = Phase.RETURN if self._search.bracketed else Phase.SEEK
        if phase is not self._phase:
            self._phase = phase
            self._hold.restart()
            if self._window is not None:
                self._foresee(self._window)

    @property
    def _window(self) -> Window | None:
        level = self._search.peak.level
        if level is None or self._phase is Phase.SEEK:
            return None
        window = Window.near_extremum(level, self._peaked.tolerance, maximum=self._search.maximum)
        return self._narrowing.of(window)

    def _words(self) -> str:
        extremum = self._peaked.extremum
        if self._phase is Phase.RETURN:
            return f"Turn back to the {extremum} and let go."
        if self._search.peak.at_end:
            return f"Only one side of the {extremum} is known: turn back through it and beyond. {AFRESH}"
        return f"Turn slowly through the {extremum} and out on the other side."
