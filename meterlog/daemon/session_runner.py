"""The one thread that runs the session: readings, actions and time in; stored, then announced, out.

Links and the API put what they have into one queue, so everything has one order. What comes out of an
event is first on the disk and then on the pages: while the disk takes nothing, nothing is announced, no
action is taken, and readings wait in memory.
"""

import logging
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from meterlog.bench import Bench, Clock, LinkStatus
from meterlog.daemon.announce import Announcer
from meterlog.daemon.board import Board
from meterlog.daemon.errors import Refusal, not_stored_yet
from meterlog.daemon.hub import Hub
from meterlog.daemon.inbox import Ask, Inbox, Item
from meterlog.daemon.instruments import instrument_of
from meterlog.daemon.messages import Json
from meterlog.daemon.room import Room
from meterlog.daemon.running import Running
from meterlog.daemon.sleep import Sleep
from meterlog.daemon.source_keeper import SourceKeeper, SourceNews
from meterlog.procedure import ActionKind, IllegalAction, Outcome
from meterlog.reading import Reading
from meterlog.records import NotStored, RecordsError, Writer

TICK_NS = 250_000_000
RETRY_S = 1.0
STOP_S = 10.0
TAKEN = 'Another meter answers: {!r} is "{}" from now on; what the bench file says must be true of it.'
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Reply:
    """To an action. `message` says why it was not accepted."""

    accepted: bool
    message: str = ""


class SessionRunner:
    """`failed` is called once if the thread ends by a fault of the program."""

    def __init__(
        self, *, bench: Bench, writer: Writer, clock: Clock, hub: Hub, failed: Callable[[], None]
    ) -> None:
        self.bench = bench
        self.writer = writer
        self.clock = clock
        self.running: Running | None = None
        self.board = Board(bench)
        self.announcer = Announcer(bench, writer, clock, hub, self.board)
        self._room = Room(bench)
        self.sleep = Sleep()
        self._failed = failed
        self._source: SourceKeeper | None = None
        self._take_other: Callable[[str], None] = lambda _: None
        self._inbox = Inbox()
        self._stopping = threading.Event()
        self._next_tick_ns = 0
        self._thread = threading.Thread(target=self._run, name="session", daemon=True)

    # -- from any thread ------------------------------------------------------------------------

    def start(
        self, source: SourceKeeper | None = None, take_other: Callable[[str], None] | None = None
    ) -> None:
        """`source`: sets the bench's source, where it has one that can be driven. `take_other`: has a meter
        read that its link refuses because another one answered before."""
        self._source = source
        self._take_other = take_other or self._take_other
        self._thread.start()

    def take_up(self, running: Running) -> None:
        """From now on this session. Before the thread starts, or on it."""
        self.running = running
        self.announcer.began(running)
        self.announcer.renew(running)
        for status in self.board.links.values():
            self._saw(running, status)

    def stop(self) -> None:
        """Take what is in the queue, then end. What is announced afterwards is nothing."""
        self._stopping.set()
        self._thread.join(STOP_S)

    def deliver(self, item: Reading | LinkStatus | SourceNews) -> None:
        self._inbox.put(item)

    def act(self, kind: ActionKind, text: str = "", place: int | None = None) -> Reply:
        """What the operator did. Accepted means kept. Refusal 404: no session runs."""
        reply: Reply = self.ask(lambda: self._act(kind, text, place))
        return reply

    def begin(self, make: Callable[[], Running]) -> int:
        """Begin the session that `make` gives; its id. Refusal 409: one is running."""
        number: int = self.ask(lambda: self._begin(make))
        return number

    def tell(self) -> None:
        """A page has come: say at once what is so now."""
        self._inbox.put(Ask(lambda: None))

    def view(self) -> Json | None:
        """What is to be seen of the session now; while the disk takes nothing, what was stored last. None: no
        session has run."""
        with suppress(Refusal):
            self.ask(lambda: self.announcer.renew(self.running))
        view: Json | None = self.announcer.latest["view"]
        return view

    def ask(self, call: Callable[[], Any]) -> Any:
        """Have the runner's thread do it; its answer, or its error. Refusal 503: the daemon is stopping."""
        return self._inbox.ask(call, self._thread.is_alive)

    # -- the thread -----------------------------------------------------------------------------

    def _run(self) -> None:
        try:
            while not (self._stopping.is_set() and self._inbox.empty):
                self._turn()
        except Exception:  # noqa: BLE001 - whatever it is, the daemon must end and say so
            _log.exception("the session's thread ended by a fault of the program")
            self._failed()

    def _turn(self) -> None:
        """One item, or one tick."""
        left_ns = max(0, self._next_tick_ns - self.clock.monotonic_ns())
        item = self._inbox.next(min(left_ns, TICK_NS) / 1e9)
        if slept_ns := self.sleep.passed_ns():  # before the item is taken, which may be of after
            self._slept(slept_ns)
        if item is not None:
            self._take(item)
        self._tick()
        if self._inbox.empty:
            self._ask_the_source()
            self.announcer.now(self.running)

    def _take(self, item: Item) -> None:
        match item:
            case Reading():
                self._measured(item)
            case LinkStatus():
                self._linked(item)
            case SourceNews():
                self._source_said(item)
            case Ask():
                item.do()

    def _measured(self, reading: Reading) -> None:
        self.board.read(reading)
        self.announcer.read(reading, self.running)
        if self.running is None:
            return
        try:
            outcomes = self.running.measured(reading)
        except RecordsError as error:
            self.announcer.alarm(f"A reading of {reading.channel!r} was left out: {error}")
            return
        self._keep(self.running, outcomes)
        if told := self._room.news(reading, self.running.engine.environment):
            self._told(ActionKind.ENVIRONMENT, told)

    def _ask_the_source(self) -> None:
        """What the step wants of the source now; asked once, for then the step waits for the answer."""
        wanted = self.running.view.guide.source if self._source and self.running else None
        if self._source is not None and wanted is not None:
            self._told(ActionKind.SOURCE_ASKED, self._source.ask(wanted))

    def _source_said(self, news: SourceNews) -> None:
        if self._source is not None and self._source.awaited(news):
            self._told(news.kind, news.text)

    def _told(self, kind: ActionKind, text: str) -> None:
        """The session has gone on where it refuses: then this is no news of it."""
        if self.running is not None:
            with suppress(IllegalAction):
                outcomes = self.running.acted(self.clock.monotonic_ns(), kind, text)
                self._keep(self.running, outcomes, at_once=True)

    def _linked(self, status: LinkStatus) -> None:
        if not self.board.link(status):
            return
        if self.running is not None and not self.running.ended:
            self._saw(self.running, status)
        self._take_refused_between_sessions()

    def _take_refused_between_sessions(self) -> None:
        """Nothing is judged by them then; also those that a session was asked about and has left so."""
        if self.running is None or self.running.ended:
            for status in self.board.links.values():
                self._take_told(status)

    def _take_told(self, status: LinkStatus) -> None:
        if status.refused is not None:
            self.announcer.alarm(TAKEN.format(status.meter, status.refused.text))
            self._take_other(status.meter)

    def _saw(self, running: Running, status: LinkStatus) -> None:
        instrument = instrument_of(status, self.bench, self.clock.utc_ns(), running.sequence + 1)
        if instrument is None:
            return
        channels = [channel.name for channel in self.bench.channels_of(status.meter)]
        if stranger := running.saw(instrument, channels):
            self.announcer.alarm(f"Another meter answers: {stranger}.")
        elif not running.uses(channels):
            self._take_told(status)
        elif status.refused is not None:
            self._take_other(status.meter)  # it is that of the session

    def _tick(self) -> None:
        now_ns = self.clock.monotonic_ns()
        if now_ns < self._next_tick_ns:
            return
        self._next_tick_ns = now_ns + TICK_NS  # from now: what was missed while the machine slept is skipped
        self._take_refused_between_sessions()
        if self.running is not None:
            self._keep(self.running, self.running.ticked(now_ns))

    def _slept(self, slept_ns: int) -> None:
        if (running := self.running) is not None and not running.ended:
            self._keep(running, running.slept(self.clock.monotonic_ns(), slept_ns), at_once=True)

    def _act(self, kind: ActionKind, text: str, place: int | None) -> Reply:
        if self.running is None:
            raise Refusal(404, "No session is running.", do="Begin one.")
        strangers = tuple(self.running.strangers.at_hand)
        try:
            outcomes = self.running.acted(self.clock.monotonic_ns(), kind, text, place)
        except IllegalAction as error:
            return Reply(accepted=False, message=str(error))
        if kind is ActionKind.OTHER_METER:
            for meter in strangers:
                self._take_other(meter)
        stored = self._keep(self.running, outcomes, at_once=True)
        if stored and kind is ActionKind.SET_ASIDE:
            self.running = None
            self.announcer.renew(None)
        return Reply(stored, "" if stored else "The daemon stopped before it was stored.")

    def _begin(self, make: Callable[[], Running]) -> int:
        if self.running is not None and not self.running.ended:
            raise Refusal(
                409,
                f"Session {self.running.id} is running.",
                do="Close it by its last step, end it early, or set it aside, before another.",
            )
        running = make()
        self.take_up(running)
        return running.id

    # -- stored, then announced -----------------------------------------------------------------

    def _keep(self, running: Running, outcomes: Sequence[Outcome], *, at_once: bool = False) -> bool:
        """True when it is stored; only then has it been announced. False if the daemon stops before."""
        if not (outcomes or at_once):
            return True
        stored = self._stored(running, outcomes)
        if stored:
            self.announcer.stored(outcomes, running)
        return stored

    def _stored(self, running: Running, outcomes: Sequence[Outcome]) -> bool:
        try:
            running.commit(outcomes)
        except NotStored as error:
            self.announcer.alarm(f"Not stored: {error}")
            return self._stored_at_last()
        return True

    def _stored_at_last(self) -> bool:
        while not self._stopping.is_set():
            self._sit_out()
            try:
                self.writer.flush()
            except NotStored:
                continue
            self.announcer.alarm("The disk takes data again; everything is stored.")
            return True
        return False

    def _sit_out(self) -> None:
        """Let time pass without touching the session: readings wait, requests are refused."""
        end_ns = self.clock.monotonic_ns() + round(RETRY_S * 1e9)
        while (left_ns := end_ns - self.clock.monotonic_ns()) > 0 and not self._stopping.is_set():
            item = self._inbox.newly(min(left_ns, TICK_NS) / 1e9)
            if isinstance(item, Ask):
                item.refuse(not_stored_yet())
            elif item is not None:
                self._inbox.keep_back(item)
            self.announcer.still()
