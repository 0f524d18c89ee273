"""A table, row after row: set the source, let the level settle, take it, go on by itself."""

from meterlog.accuracy import Verdict
from meterlog.detect import Motion
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import ActionKind, Beside, Origin, Role, SettledValue
from meterlog.procedure.model import Rows
from meterlog.procedure.model.base import Source
from meterlog.procedure.model.rows import Row
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.row_source import RowSource
from meterlog.procedure.patterns.rows_taken import RowsTaken
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Guide, Sound
from meterlog.quantity import Offset, ratio_from_db
from meterlog.reading import Reading


@pattern_for.register
def _(step: Rows, moment: Moment) -> Pattern:
    given = moment.value_at(Source(step=step.reference)) if step.reference else None
    return Tabling(step, given, moment.ruling)


class Tabling(Pattern):
    """One attempt at all rows. It ends by itself after the last one, unless a row has failed: then it waits
    for the pedal, so that a slip can be put right by taking that row again."""

    def __init__(self, step: Rows, given: SettledValue | None, ruling: Ruling) -> None:
        """given: the value of the step that the rows are about, where that is another step."""
        self._ruling = ruling
        self.channel = step.channel
        self._step = step
        self._given = given
        self.restart()

    @property
    def channels(self) -> frozenset[str]:
        return frozenset(self._step.channels)

    def part(self, channel: str) -> str:
        return self._rows.at_hand.label if self._rows.at_hand else ""

    def begin(self, at_s: float) -> None:
        self._now_s = at_s

    def restart(self) -> None:
        """From the first row: nobody saw what was done to the unit meanwhile."""
        self._reference = self._given.value if self._given else None
        self._taken_reference: Capture | None = None
        self._rows = RowsTaken(self._step.ordered)
        self._before: Row | None = None  # for which the source is still set
        self._now_s = 0.0
        self._present: float | None = None
        self._enter()

    def _enter(self) -> None:
        """The row at hand, from its beginning; after the last row nothing is watched any more."""
        row = self._rows.at_hand or self._step.ordered[-1]
        stays = self._before is not None and self._step.same_source(row, self._before)
        self._source = RowSource(self._step, row, stays=stays)
        self._watch = Watch(Stillness(self._step.settle_within(row), self._step.dwell, self._step.lag))
        self._window = self._foreseen(row)

    def reading(self, at_s: float, reading: Reading) -> Progress:
        self._now_s = at_s
        if self._rows.at_hand is None:
            return NOTHING
        if reading.channel != self.channel:
            return self._frequency_read(at_s, reading)
        settlement = self._watch.feed(at_s, reading)
        self._present = self._watch.present
        if not self._source.set_now:  # shown, and forgotten when it is set
            return Progress(Motion.WAITING)
        if self._watch.settled and self._source.sure(at_s):
            return self._taken(self._rows.at_hand)
        return Progress(settlement.motion)

    def _frequency_read(self, at_s: float, reading: Reading) -> Progress:
        if not self._source.frequency_read(at_s, reading):
            self._watch.restart()
            return Progress(Motion.WAITING)
        return NOTHING

    def _taken(self, row: Row) -> Progress:
        settlement = self._watch.settlement
        window = self._window
        capture = Capture(
            role=Role.MEASURED,
            channel=self.channel,
            settlement=settlement,
            condition=row.label,
            again=self._rows.was_taken(row),
            about=self._about(row) if window else None,
            **(window.limits() if window else {}),
        )
        if self._step.is_reference(row):
            self._reference, self._taken_reference = settlement.value, capture
        self._rows.take(row, capture.verdict, passes=self._ruling.passes(capture))
        self._before = row
        return self._next(settlement.motion, (capture,))

    def _about(self, row: Row) -> Origin | None:
        """The value that a row's level lies about, where it lies about one."""
        if not isinstance(self._step.expected_of(row), Offset) or self._step.is_reference(row):
            return None
        return self._given.number if self._given else Beside(self._step.reference_row or "", Role.MEASURED)

    def _next(self, motion: Motion | None = None, captures: tuple[Capture, ...] = ()) -> Progress:
        self._enter()
        rows = self._rows
        finished = rows.at_hand is None and not rows.amiss
        return Progress(motion, captures, finished, rows.verdict, rows.reason)

    def _foreseen(self, row: Row) -> Window | None:
        """Of a row, narrowed by its likely guard band."""
        window = self._around_expected(row)
        if window is None:
            return None
        before = (self._taken_reference,) if self._taken_reference else ()
        width = self._ruling.likely(
            window, self.channel, Role.MEASURED, *before, condition=row.label, about=self._about(row)
        )
        return window.narrowed(width)

    def _around_expected(self, row: Row) -> Window | None:
        """None where nothing is expected, or its reference is not known yet."""
        expected, tolerance = self._step.expected_of(row), self._step.tolerance_of(row)
        if expected is None or tolerance is None:
            return None
        if not isinstance(expected, Offset):
            return Window.around(expected.base, tolerance)
        if self._reference is None:
            return None
        return Window.around(self._reference * ratio_from_db(expected.db), tolerance)

    def go_on(self, at_s: float) -> Progress:
        if self._rows.at_hand is None:
            return Progress(finished=True, verdict=self._rows.verdict, reason=self._rows.reason)
        self._source.pressed()
        self._watch.restart()
        return NOTHING

    def source(self, at_s: float, news: ActionKind, text: str) -> Progress:
        if self._rows.at_hand is None:
            raise IllegalAction("no source is to be set now")
        self._source.news(news, text)
        self._watch.restart()
        return NOTHING

    def redo_row(self, at_s: float, name: str) -> Progress:
        """The reference is redone with all that was judged by it."""
        row = self._rows.done(name)
        self._before = None
        self._rows.again(self._step.ordered if self._step.is_reference(row) else (row,))
        self._enter()
        return NOTHING

    def skip_row(self, at_s: float, reason: str) -> Progress:
        row = self._rows.at_hand
        if row is None:
            raise IllegalAction("all rows are done; redo one, or press to go on")
        if not reason:
            raise IllegalAction("say why the row is left out")
        if self._step.is_reference(row):
            raise IllegalAction(f"the others are judged by {row.label}; skip the whole step instead")
        self._rows.skip(row, reason)
        self._before = None
        return self._next()

    @property
    def verdict_so_far(self) -> Verdict:
        return Verdict.FAIL if self._rows.failed else Verdict.NOT_JUDGED

    def guide(self) -> Guide:
        row = self._rows.at_hand
        if row is None:
            words = f"{self._rows.reason}. Redo a row, or press to go on."
            return Guide(do_now=words, awaiting_go_on=True, channel=self.channel, cue=Cue(Sound.PRESS))
        window = self._window
        limits = {**window.bounds(), **window.distance(self._present)} if window else {}
        pedal = self._source.awaits_pedal
        return Guide(
            do_now=self._source.words(self._now_s) or f"{row.label}: hands off, measuring.",
            awaiting_go_on=pedal,
            channel=self.channel,
            present=self._present,
            phase=f"{row.label}, {self._rows.place}",
            why_not="" if pedal else self._watch.why_not,
            cue=Cue(Sound.PRESS) if pedal else Cue(),
            source=self._source.setting,
            **limits,
        )
