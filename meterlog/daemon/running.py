"""The session that runs: gives each event its number, the engine its events, and the writer everything."""

from collections.abc import Sequence
from dataclasses import dataclass

from meterlog.daemon.timeline import Timeline
from meterlog.procedure import (
    Acted,
    ActionKind,
    Engine,
    Event,
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


@dataclass
class Running:
    """One session in memory. `sequence` is the number of the last event that was kept.

    What happened is kept in the order in which the engine got it, and nothing else is kept: a refused
    action and a tick without outcomes are none of it.
    """

    id: int
    engine: Engine
    timeline: Timeline
    writer: Writer
    sequence: int = 0

    @property
    def procedure(self) -> Procedure:
        return self.engine.procedure

    @property
    def ended(self) -> bool:
        return self.engine.state is SessionState.ENDED

    @property
    def view(self) -> View:
        return self.engine.view()

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
        if kind in _SAID_OF_A_STEP:
            place = self.engine.place
        elif kind is ActionKind.REDO and place is None:
            place = self.engine.redo_place  # the record names the step, so that nobody has to work it out
        event = Acted(self.timeline.at_ns(monotonic_ns), kind, text, place)
        outcomes = self.engine.apply(event)
        self._kept(event)
        return outcomes

    def ticked(self, monotonic_ns: int) -> list[Outcome]:
        event = Ticked(self.timeline.at_ns(monotonic_ns))
        if outcomes := self.engine.apply(event):
            self._kept(event)
        return outcomes

    def at_ns(self, reading: Reading) -> int | None:
        """Where a reading lies on the session's line; None if it is none of this session."""
        declared = any(channel.name == reading.channel for channel in self.procedure.channels)
        ours = declared and not self.ended and self.timeline.covers(reading.monotonic_ns)
        return self.timeline.at_ns(reading.monotonic_ns) if ours else None

    def commit(self, outcomes: Sequence[Outcome]) -> None:
        """Returns when everything up to the last event, and these outcomes of it, are on disk. NotStored."""
        self.writer.commit(self.id, self.sequence, outcomes)

    def saw(self, instrument: Instrument) -> None:
        self.writer.instrument(self.id, instrument)

    def _kept(self, event: Event) -> None:
        self.writer.event(self.id, self.sequence + 1, event)
        self.sequence += 1
