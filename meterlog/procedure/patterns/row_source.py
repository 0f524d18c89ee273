"""How the source comes to what a row wants: driven by the bench, seen by a meter, or by hand and pedal."""

from enum import StrEnum

from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import ActionKind
from meterlog.procedure.model.rows import Row, Rows
from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.view import SourceSetting
from meterlog.quantity import show
from meterlog.reading import Reading


class Phase(StrEnum):
    SET_UP = "set up"  # the row's own setup: press
    SET = "set source"  # nobody has said anything yet: the bench may drive it, or a hand set it
    ASKED = "setting"  # the bench is setting it
    BY_HAND = "set by hand"  # the bench could not
    SET_NOW = "set"


class RowSource:
    """For one row. `stays`: it is set already, as the row before had it."""

    def __init__(self, step: Rows, row: Row, *, stays: bool = False) -> None:
        self._step, self._row = step, row
        self._set = Phase.SET_NOW if stays else Phase.SET
        self._wanted = step.frequency_of(row)
        self._watch = Watch(Stillness(step.frequency_tolerance.scaled(0.5), step.dwell))
        self._told = ""
        self.phase = Phase.SET_UP if row.setup else self._set

    @property
    def setting(self) -> SourceSetting | None:
        """What the bench is asked for; None while it is not."""
        if self.phase is not Phase.SET:
            return None
        level = self._step.level_of(self._row)
        return SourceSetting(
            frequency_hz=self._wanted.base if self._wanted else None,
            level_v=level.base if level else None,
            purpose=f"{self._step.title}, {self._row.label}",
        )

    @property
    def set_now(self) -> bool:
        """Whether what the channel shows counts: the pedal or the source has said so or, where the meter
        sees the row, nobody needs to. See `sure` for that."""
        seen = self._step.seen and self.phase in (Phase.SET, Phase.BY_HAND)
        return seen or self.phase is Phase.SET_NOW

    def sure(self, at_s: float) -> bool:
        """Whether the frequency is known to be right, now and for as long as it takes to be sure of it."""
        if self._step.frequency_channel is None:
            return True
        return self._watch.settled and self._near(self._watch.level) and not self._watch.silent(at_s)

    @property
    def awaits_pedal(self) -> bool:
        by_hand = self.phase in (Phase.SET, Phase.BY_HAND) and not self._step.seen
        return by_hand or self.phase is Phase.SET_UP

    def pressed(self) -> None:
        if not self.awaits_pedal:
            raise IllegalAction(f"{self._row.label}: {self._not_yet}")
        self.phase = self._set if self.phase is Phase.SET_UP else Phase.SET_NOW

    @property
    def _not_yet(self) -> str:
        if self.phase is Phase.ASKED:
            return "the source is being set"
        return "not settled yet; it is taken by itself. To leave the row out, skip it with a reason"

    def news(self, kind: ActionKind, text: str) -> None:
        """IllegalAction for news that is not awaited: the answer to what is not asked any more."""
        awaited = {ActionKind.SOURCE_ASKED: Phase.SET}.get(kind, Phase.ASKED)
        if self.phase is not awaited:
            raise IllegalAction("no source is to be set now")
        self._told = text
        self.phase = {
            ActionKind.SOURCE_ASKED: Phase.ASKED,
            ActionKind.SOURCE_SET: Phase.SET_NOW,
            ActionKind.SOURCE_FAILED: Phase.BY_HAND,
        }[kind]

    def frequency_read(self, at_s: float, reading: Reading) -> bool:
        """Take a reading of the frequency channel; False where it is not that of the row."""
        self._watch.feed(at_s, reading)
        return self._near(None if reading.unfit else reading.value)

    def _near(self, hertz: float | None) -> bool:
        if hertz is None or self._wanted is None:
            return False
        return self._step.frequency_tolerance.contains(hertz, self._wanted.base)

    def words(self, at_s: float) -> str:
        """What to do about the source; "" when nothing is."""
        setting = f"Set the source to {self._in_words}"
        match self.phase:
            case Phase.SET_UP:
                return f"{self._row.setup} Then press."
            case Phase.ASKED:
                return f"Setting the source to {self._in_words}."
            case Phase.BY_HAND:
                setting = f"The bench could not set the source: {self._told}. {setting} by hand"
        if self.sure(at_s) and self.set_now:
            return ""
        if self.awaits_pedal:
            return f"{setting}, then press."
        return f"{setting}. {self._seen}"

    @property
    def _in_words(self) -> str:
        level = self._step.level_of(self._row)
        return " and ".join(str(one) for one in (self._wanted, level) if one is not None)

    @property
    def _seen(self) -> str:
        """What the frequency channel shows, for whoever looks for the dial or the fault."""
        channel, present = self._step.frequency_channel, self._watch.present
        if channel is None or self._wanted is None:
            return ""
        if present is None:
            return f"The channel {channel} shows no frequency."
        return f"The channel {channel} shows {show(present, self._wanted.scale)}."
