"""Says what is so: everything about now, again and again; what happened, once, after it is stored."""

import logging
from collections.abc import Sequence

from meterlog.bench import Bench, Clock
from meterlog.daemon.as_json import plain
from meterlog.daemon.board import Board
from meterlog.daemon.hub import Hub
from meterlog.daemon.messages import Corrected, Json, reading_json, settled_json, view_json
from meterlog.daemon.running import Running
from meterlog.daemon.scales import Scales
from meterlog.procedure import GuardTripped, Outcome, SessionEnded, SettledValue, StepEnded
from meterlog.quantity import Unit
from meterlog.reading import Reading
from meterlog.records import Writer

_log = logging.getLogger(__name__)


class Announcer:
    """The runner's mouth; used by its thread alone, but `latest` may be read from any."""

    def __init__(self, bench: Bench, writer: Writer, clock: Clock, hub: Hub, board: Board) -> None:
        self.latest: Json = {"session": None, "view": None}
        self._writer = writer
        self._clock = clock
        self._hub = hub
        self._board = board
        self._bench_scales = {channel.name: channel.show for channel in bench.channels if channel.show}
        self._scales = Scales(self._bench_scales)
        self._readings: list[Json] = []
        self._last_alarm = ""
        self._corrected: Corrected | None = None

    def began(self, running: Running) -> None:
        self._scales = Scales(self._bench_scales, running.procedure)
        self._hub.forget_lasting()

    def read(self, reading: Reading, running: Running | None) -> None:
        if not self._hub.listened:
            return
        at_ns = running.at_ns(reading) if running else None
        level = running.engine.corrected(reading) if running and at_ns is not None else reading
        self._readings.append(reading_json(level, at_ns, self._scales))

    def now(self, running: Running | None) -> None:
        """Everything about now, and the readings since the last time, where anybody listens."""
        if self._hub.listened:
            self.renew(running)
            self.still()

    def renew(self, running: Running | None) -> None:
        """`latest` as it is now."""
        view = self._view(running) if running else None
        self._corrected = running.engine.corrected if running else None
        self.latest = {"session": running.id if running else None, "view": view}

    def still(self) -> None:
        """As `now`, with the session as it was announced last: it has not been stored any further."""
        if self._readings:
            self._hub.say({"type": "readings", "readings": self._readings})
            self._readings = []
        self._hub.live(self._everything)

    def _everything(self) -> Json:
        return {
            "time_ns": self._clock.utc_ns(),
            **self.latest,
            "channels": self._board.channels(self._scales, self._clock.monotonic_ns(), self._corrected),
            "links": self._board.link_list(),
            "stored": plain(self._writer.status()),
        }

    def stored(self, outcomes: Sequence[Outcome], running: Running) -> None:
        """What came out of an event. Only after its commit: from then on `latest` may tell it too."""
        for outcome in outcomes:
            self._hub.say(self._outcome(outcome) | {"session": running.id})
        self.renew(running)

    def alarm(self, text: str, *, lasting: bool = False) -> None:
        """What a person must know; `lasting` also for pages that come later. The same is not said again."""
        if text == self._last_alarm:
            return
        self._last_alarm = text
        _log.warning("%s", text)
        self._hub.say({"type": "alarm", "text": text}, lasting=lasting)

    def _outcome(self, outcome: Outcome) -> Json:
        match outcome:
            case SettledValue():
                return {"type": "stored", "settled": settled_json(outcome, self._scales)}
            case StepEnded():
                return {"type": "step-ended", **plain(outcome)}
            case GuardTripped():
                return {"type": "guard-tripped", **plain(outcome)}
            case SessionEnded():
                return {"type": "session-ended", **plain(outcome)}

    def _view(self, running: Running) -> Json:
        view = running.view
        channel = view.guide.channel
        unit = running.procedure.channel(channel).unit if channel else Unit.NONE
        shown = view_json(view, unit, self._scales, self._board.resolution(channel))
        return shown | {"other_meters": str(running.strangers)}
