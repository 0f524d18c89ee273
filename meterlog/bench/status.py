"""How a link does: said once at each change, counted all the time, safe from any thread."""

import logging
import threading
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from enum import StrEnum

from meterlog.bench.clock import Clock
from meterlog.reading import Identity

SILENT = "no new reading; is the meter on, does it still send, has it switched itself off?"
UNREAD_BYTES = 24
"""Less may be the tail of a frame that was cut when the meter was switched off."""
UNREAD = "bytes come, but no reading; has its function, unit or format changed, or the line?"

log = logging.getLogger(__name__)


class LinkState(StrEnum):
    """connecting: not yet; live: readings come; stale: none came for a while; lost: no line, trying again."""

    CONNECTING = "connecting"
    LIVE = "live"
    STALE = "stale"
    LOST = "lost"


@dataclass(frozen=True, slots=True)
class LinkStatus:
    """One link at one moment.

    text        why, and what to do; empty when all is well
    since_ns    when the state began, UTC
    identity    who answers; None before the first connection
    refused     who answers in its place at the moment, and is not read
    readings    delivered; unfitting of them were INVALID because the meter showed another function
    resyncs     times the answers had to be put in step again
    opened      times the line was opened
    bytes_received  from the line, understood or not
    remark      what the instrument said last beside its readings, "" if nothing; `remarks` counts
    """

    meter: str
    state: LinkState
    text: str
    since_ns: int
    identity: Identity | None = None
    refused: Identity | None = None
    readings: int = 0
    unfitting: int = 0
    resyncs: int = 0
    opened: int = 0
    bytes_received: int = 0
    remark: str = ""
    remarks: int = 0


@dataclass(slots=True)
class Counts:
    """As in `LinkStatus`. Only the link's own thread counts, and far more often than anybody looks."""

    readings: int = 0
    unfitting: int = 0
    resyncs: int = 0
    opened: int = 0
    bytes_received: int = 0


class _Log:
    """The log of one link. What was said within the last minute is not said again, and no more than so many
    lines a minute: a meter that comes and goes, or repeats its complaints, would fill the disk."""

    AGAIN_NS = 60_000_000_000
    MOST = 32

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._said_ns: dict[str, int] = {}

    def say(self, level: int, text: str) -> None:
        now_ns = self._clock.monotonic_ns()
        self._said_ns = {one: at for one, at in self._said_ns.items() if now_ns - at < self.AGAIN_NS}
        if text not in self._said_ns and len(self._said_ns) < self.MOST:
            self._said_ns[text] = now_ns
            log.log(level, "%s", text)


class Standing:
    """Keeps the status of one link and tells its changes, in their order."""

    def __init__(self, meter: str, clock: Clock, on_state: Callable[[LinkStatus], None]) -> None:
        self.counts = Counts()
        self._clock = clock
        self._log = _Log(clock)
        self._on_state = on_state
        self._lock = threading.RLock()
        self._newest_ns: int | None = None
        self._bytes_then = 0  # received when the newest reading came, or the meter was connected
        self._status = LinkStatus(meter, LinkState.CONNECTING, "", clock.utc_ns())

    @property
    def status(self) -> LinkStatus:
        return replace(self._status, **asdict(self.counts))

    @property
    def silent_s(self) -> float:
        """Seconds since the last reading, or since connecting if there was none; 0 while not connected."""
        newest_ns = self._newest_ns
        return 0.0 if newest_ns is None else (self._clock.monotonic_ns() - newest_ns) / 1e9

    def opening(self, text: str) -> None:
        """The first attempt. Later ones stay lost until a reading comes, or the state would flicker."""
        with self._lock:
            if self._status.state is LinkState.CONNECTING:
                self._say(LinkState.CONNECTING, text)

    def connected(self, identity: Identity) -> None:
        with self._lock:
            self._newest_ns = self._clock.monotonic_ns()
            self._bytes_then = self.counts.bytes_received
            is_first = self._status.identity is None
            self._status = replace(self._status, identity=identity, refused=None)
            if is_first:
                self._say(LinkState.CONNECTING, "identified; waiting for the first reading")

    def live(self, text: str) -> None:
        """A reading came."""
        with self._lock:
            self._newest_ns = self._clock.monotonic_ns()
            self._bytes_then = self.counts.bytes_received
            self._say(LinkState.LIVE, text)

    def remark(self, text: str) -> None:
        """The instrument said something: an entry of its error queue, readings that it lost."""
        with self._lock:
            before = self._status
            self._status = replace(before, remark=text, remarks=before.remarks + 1)
            if text != before.remark:
                self._log.say(logging.WARNING, f"{before.meter} says: {text}")
            self._on_state(self.status)

    def lost(self, text: str, refused: Identity | None = None) -> None:
        with self._lock:
            self._newest_ns = None
            self._status = replace(self._status, refused=refused)
            self._say(LinkState.LOST, text)

    def take_other(self) -> None:
        """Whoever is refused is from now on the one that answers here."""
        with self._lock:
            identity = self._status.refused or self._status.identity
            self._status = replace(self._status, identity=identity, refused=None)

    def judge(self, limit_s: float) -> None:
        """Say stale if nothing new has come for limit_s; from any thread, also while a driver hangs."""
        with self._lock:
            if self._status.state is not LinkState.LOST and self.silent_s > limit_s:
                came = self.counts.bytes_received - self._bytes_then
                self._say(LinkState.STALE, UNREAD if came >= UNREAD_BYTES else SILENT)

    def _say(self, state: LinkState, text: str) -> None:
        before = self._status
        if (before.state, before.text) == (state, text):
            return
        self._status = replace(before, state=state, text=text)
        if before.state is not state:
            self._status = replace(self._status, since_ns=self._clock.utc_ns())
        if before.state is not state or state is LinkState.LOST:
            self._log.say(logging.INFO, f"{before.meter}: {state} {text}")
        self._on_state(self.status)
