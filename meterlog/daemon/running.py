"""The session that runs: gives each event its number, the engine its events, and the writer everything."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from meterlog.daemon.strangers import Stranger, Strangers
from meterlog.daemon.timeline import Timeline
from meterlog.procedure import (
    Acted,
    ActionKind,
    Engine,
    Event,
    Guide,
    IllegalAction,
    Measured,
    Outcome,
    Procedure,
    SessionState,
    Ticked,
    View,
)
from meterlog.reading import Reading
from meterlog.records import Instrument, Writer

_SAID_OF_A_STEP = (ActionKind.NOTE, ActionKind.SKIP)
_TO_THE_STEP = (ActionKind.GO_ON, ActionKind.ENTER)
STRANGER = (
    "Another meter answers: {}. Its readings are not taken. Plug the other one in again; or, if this one is "
    "meant, say so and why (“Other meter”): what the bench file says of its meter must then be true of it."
)


@dataclass
class Running:
    """One session in memory. `sequence` is the number of the last event that was kept.

    What happened is kept in the order in which the engine got it, and nothing else is kept: a refused
    action and a tick without outcomes are none of it. Nor is what a meter reads that is not the one of
    before, until somebody says that it is meant; till then the step is told nothing, for it does not speak.
    """

    id: int
    engine: Engine
    timeline: Timeline
    writer: Writer
    sequence: int = 0
    strangers: Strangers = field(default_factory=Strangers)

    @property
    def procedure(self) -> Procedure:
        return self.engine.procedure

    @property
    def ended(self) -> bool:
        return self.engine.state is SessionState.ENDED

    @property
    def view(self) -> View:
        view = self.engine.view()
        if not self.strangers or self.ended:
            return view
        return replace(view, guide=Guide(do_now=STRANGER.format(self.strangers), channel=view.guide.channel))

    def measured(self, reading: Reading) -> list[Outcome]:
        """RecordsError, changing nothing, for a reading that cannot be kept."""
        at_ns = self.at_ns(reading)
        if at_ns is None:
            return []
        event = Measured(at_ns, reading)
        self._kept(event)
        return self.engine.apply(event)

    def acted(
        self, monotonic_ns: int, kind: ActionKind, text: str = "", place: int | None = None
    ) -> list[Outcome]:
        """IllegalAction, changing nothing, for an action that this moment does not allow."""
        if kind in _TO_THE_STEP and self.strangers:
            raise IllegalAction(f"another meter answers ({self.strangers}); say first whether it is meant")
        if kind in _SAID_OF_A_STEP:
            place = self.engine.place
        elif kind is ActionKind.REDO and place is None:
            place = self.engine.redo_place  # the record names the step, so that nobody has to work it out
        elif kind is ActionKind.OTHER_METER:
            text = self._meant(text)
        event = Acted(self.timeline.at_ns(monotonic_ns), kind, text, place)
        outcomes = self.engine.apply(event)
        self._kept(event)
        if kind is ActionKind.OTHER_METER:
            self._accept_strangers()
        return outcomes

    def slept(self, monotonic_ns: int, slept_ns: int) -> list[Outcome]:
        """The machine has: its monotonic clock stood still, and nobody saw what was done meanwhile."""
        now_ns = self.timeline.at_ns(monotonic_ns) + slept_ns
        self.timeline = Timeline(monotonic_ns, now_ns)
        return self.acted(
            monotonic_ns, ActionKind.INTERRUPTED, f"the computer slept for {slept_ns / 1e9:.0f} s"
        )

    def ticked(self, monotonic_ns: int) -> list[Outcome]:
        event = Ticked(self.timeline.at_ns(monotonic_ns))
        if outcomes := self.engine.apply(event):
            self._kept(event)
        return outcomes

    def at_ns(self, reading: Reading) -> int | None:
        """Where a reading lies on the session's line; None if it is none of this session."""
        declared = any(channel.name == reading.channel for channel in self.procedure.channels)
        ours = declared and not self.ended and self.timeline.covers(reading.monotonic_ns)
        ours = ours and not self.strangers.hold(reading.channel)
        return self.timeline.at_ns(reading.monotonic_ns) if ours else None

    def commit(self, outcomes: Sequence[Outcome]) -> None:
        """Returns when everything up to the last event, and these outcomes of it, are on disk. NotStored."""
        self.writer.commit(self.id, self.sequence, outcomes)

    def saw(self, instrument: Instrument, channels: Iterable[str]) -> Stranger | None:
        """A meter of these channels has said who it is. One that is not the one of before is given back, and
        is kept only when it is meant."""
        stranger = self.strangers.meet(instrument, self._used(channels))
        if stranger is None:
            self.writer.instrument(self.id, instrument)
        return stranger

    def uses(self, channels: Iterable[str]) -> bool:
        """Whether its procedure reads one of these."""
        return bool(self._used(channels))

    def _used(self, channels: Iterable[str]) -> set[str]:
        return {channel.name for channel in self.procedure.channels} & set(channels)

    def _meant(self, why: str) -> str:
        """Which other meters are meant and why. IllegalAction: there are none, or nobody says why."""
        if not self.strangers:
            raise IllegalAction("no other meter answers than before")
        if not why:
            raise IllegalAction("say why another meter is used")
        return f"{self.strangers}: {why}"

    def _accept_strangers(self) -> None:
        for instrument in self.strangers.accept():
            self.writer.instrument(self.id, replace(instrument, since_sequence=self.sequence))

    def _kept(self, event: Event) -> None:
        self.writer.event(self.id, self.sequence + 1, event)
        self.sequence += 1
