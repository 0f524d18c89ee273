"""An extremum found with a coarse tone first, so that the fine one cannot be caught by a side peak."""

from dataclasses import replace

from meterlog.procedure.events import Beside
from meterlog.procedure.model import Extremum
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.delegating import Delegating
from meterlog.procedure.patterns.extremum import SeekingExtremum
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.signals import COARSE
from meterlog.procedure.view import Cue, Guide, Sound
from meterlog.reading import Reading

_FINE_PARTS = 2
"""Setting up and seeking with the fine tone."""


class CoarseThenFine(Delegating):
    """With the coarse tone, to the fine tone by the pedal, with the fine tone."""

    def __init__(self, step: Extremum, ruling: Ruling) -> None:
        assert step.coarse is not None
        self._ruling = ruling
        self.channel = step.channel
        self._step = step
        coarse = {"bracket": step.coarse.bracket, "tolerance": step.coarse.tolerance, "settle": None}
        self._coarse = step.model_copy(update=coarse)
        self._coarse_setup, self._fine_setup = step.coarse.setup, step.coarse.fine_setup
        self.restart()

    def restart(self) -> None:
        """From the coarse tone: where that left the screw is what the fine one is judged by."""
        self._parts: list[Pattern] = [
            SettingUp(self.channel, self._coarse_setup),
            SeekingExtremum(self._coarse, self._ruling),
            SettingUp(self.channel, self._fine_setup),
            FineSeeking(self._step, self._ruling),
        ]
        self.at_hand = self._parts.pop(0)

    def part(self, channel: str) -> str:
        return COARSE if len(self._parts) >= _FINE_PARTS else ""

    def passed(self, progress: Progress) -> Progress:
        if not self._parts:
            return progress
        self.at_hand = self._parts.pop(0)
        captures = tuple(_of_the_coarse(capture) for capture in progress.captures)
        return Progress(progress.motion, captures)


def _of_the_coarse(capture: Capture) -> Capture:
    """What its limits lie about is a level of the coarse tone too."""
    about = capture.about
    beside = about._replace(condition=COARSE) if isinstance(about, Beside) else about
    return replace(capture, condition=COARSE, about=beside)


class SettingUp(Pattern):
    """Waits for the pedal in the middle of a step."""

    def __init__(self, channel: str, setup: str) -> None:
        self.channel, self._setup = channel, setup

    def go_on(self, at_s: float) -> Progress:
        return Progress(finished=True)

    def guide(self) -> Guide:
        return Guide(
            do_now=f"{self._setup} Hands off the screw, then press.",
            awaiting_go_on=True,
            channel=self.channel,
            cue=Cue(Sound.PRESS),
        )


class FineSeeking(SeekingExtremum):
    """What is worse than the level at which the coarse tone left it is a side peak and no extremum."""

    def __init__(self, step: Extremum, ruling: Ruling) -> None:
        super().__init__(step, ruling)
        self._left_at: float | None = None

    def reading(self, at_s: float, reading: Reading) -> Progress:
        if self._left_at is not None:
            return super().reading(at_s, reading)
        self._hold.follow(at_s, reading)
        watch = self._hold.watch
        self._left_at = watch.level if watch.settled else None
        return Progress(watch.settlement.motion)

    @property
    def _window(self) -> Window | None:
        return None if self._beside else super()._window

    @property
    def _beside(self) -> bool:
        """Bracketed, but below where it began."""
        level, began = self._search.peak.level, self._left_at
        if level is None or began is None or not self._search.bracketed:
            return False
        best = Window.near_extremum(began, self._peaked.tolerance, maximum=self._search.maximum)
        return not best.contains(level)

    def go_on(self, at_s: float) -> Progress:
        if self._beside:
            self._search = self._new_search()
            return NOTHING
        return super().go_on(at_s)

    def _words(self) -> str:
        if self._left_at is None:
            return "Hands off: where the coarse tone left it is being measured."
        if self._beside:
            return f"A side peak: the {self._peaked.extremum} lies back where the coarse tone left it."
        return super()._words()
