"""A SCPI meter that measures at its own pace into a memory, which is emptied often enough to lose nothing."""

from collections.abc import Sequence
from contextlib import suppress

from meterlog.reading import Identity, Indication, Nanoseconds, Unanswered, WireError
from meterlog_drivers.scpi.answers import parse_integer
from meterlog_drivers.scpi.conversation import Conversation, Reply
from meterlog_drivers.scpi.dating import Dating
from meterlog_drivers.scpi.decoder import Decoder
from meterlog_drivers.scpi.dialect_tables import Memory
from meterlog_drivers.scpi.meter import ScpiMeter
from meterlog_drivers.scpi.plan import Plan, filled

FETCH_S = 0.05
"""Between two questions: short for the hand that turns a trimmer, long for the meter that answers."""
LONGEST_PAUSE_S = 0.5
FIRST_FETCH = 64
TRANSFER_S = 0.02
"""One reading of 16 characters at 9600 baud, and a little more."""
EMPTY_S = 0.5
"""How long an answer is waited for from a meter that is silent where its memory is empty."""
NOTHING_THERE = -230
"""Data corrupt or stale (SCPI-1999 volume 2, 21.8)."""
STALLED_PERIODS = 5.0
STALLED_LEAST_S = 2.0
OVERFLOWED = "the meter's memory overflowed: readings were lost, it has been started anew"
STARTED_ANEW = (
    "the answers had to be put in step: readings were lost, the meter's memory has been started anew"
)


class BufferedMeter(ScpiMeter):
    """A meter with a memory of readings; see `dialect_tables.Memory`."""

    def __init__(
        self,
        conversation: Conversation,
        plan: Plan,
        memory: Memory,
        identity: Identity,
        monotonic_ns: Nanoseconds,
    ) -> None:
        super().__init__(conversation, plan, identity, monotonic_ns)
        self._memory = memory
        self._waiting = memory.waiting
        self._monotonic_ns = monotonic_ns
        self._decoder = Decoder(plan, {1: plan.displays[0]})
        self._dating = Dating(plan.reading_s(), timed=plan.interval_s is not None)
        self._most = min(FIRST_FETCH, memory.most)
        self._left: int | None = None
        self._next_ns = self._newest_ns = 0
        self._running = False

    def configure(self) -> None:
        """Anew from a meter at rest. See `ScpiMeter.configure`."""
        self._stop()
        super().configure()

    def resynchronise(self) -> None:
        """Stopped first: a meter that measures without end may not answer *OPC?. See `ScpiMeter`."""
        self._conversation.fall_quiet()
        if self._memory.stop:
            self._conversation.tell(self._memory.stop)
        super().resynchronise()

    def _measured(self, wait_s: float) -> Sequence[Indication]:
        """All that the memory holds, at most so many at once."""
        if self._left == 0:
            self._start()
        pause_s = (self._next_ns - self._monotonic_ns()) / 1e9
        self._conversation.rest(min(pause_s, wait_s))
        if pause_s > wait_s:
            return []
        shown = self._fetch()
        self._refuse_a_stall(bool(shown))
        return shown

    def close(self) -> None:
        """Stop measuring; then as any meter."""
        with suppress(WireError):
            self._stop()
        super().close()

    def _stop(self) -> None:
        if self._memory.stop:
            self._setup.send(self._memory.stop)

    def _begin(self) -> None:
        if self._running:
            self._care.remark(STARTED_ANEW)
            self._stop()
        self._start()
        self._running = True

    def _start(self) -> None:
        """What the memory held is gone then: so only when no more is to come, or all in it is in doubt."""
        started_ns = 0
        for command in self._memory.arm:
            started_ns = self._monotonic_ns()
            self._setup.set(filled(command, count=self._plan.samples))
        self._dating.started(started_ns)
        self._left = self._plan.samples or None
        self._newest_ns = started_ns
        self._plan_next(started_ns)

    def _plan_next(self, asked_ns: int) -> None:
        """Sooner if the meter comes to the end of its count before: until started again it does nothing."""
        pause_s = max(FETCH_S, min(self.period_s, LONGEST_PAUSE_S))
        if self._left is not None:
            pause_s = min(pause_s, self._left * self.period_s)
        self._next_ns = asked_ns + round(pause_s * 1e9)

    def _fetch(self) -> list[Indication]:
        asked_ns = self._monotonic_ns()
        most = self._most_to_ask()
        reply = self._ask_for(most) if most else None
        if reply is None:
            self._dating.of(0, asked_ns, asked_ns, emptied=True)
            self._plan_next(asked_ns)
            return []
        return self._taken(reply, asked_ns, most)

    def _taken(self, reply: Reply, asked_ns: int, most: int) -> list[Indication]:
        """Where there may be more, the memory is asked again at once; it may also have been full."""
        full = min(self._memory.most if self._waiting else most, self._memory.holds)

        def dates(count: int) -> Sequence[int]:
            return self._dating.of(count, asked_ns, reply.answered_ns, emptied=count < full)

        shown = self._decoder.indications(reply.content, dates)
        self.period_s = self._dating.interval_ns / 1e9
        if len(shown) >= full and self._overflowed(asked_ns):
            self._care.remark(OVERFLOWED)
            self._stop()
            self._start()
            return []
        if self._left is not None:
            self._left = max(0, self._left - len(shown))
        if len(shown) >= full:
            self._most = min(2 * self._most, self._memory.most)
            self._next_ns = asked_ns
        else:
            self._plan_next(asked_ns)
        return shown

    def _most_to_ask(self) -> int:
        """How many readings to ask for: no more than are there, of a meter that would refuse or be silent."""
        if not self._waiting:
            return self._most
        try:
            waiting = parse_integer(self._conversation.ask(self._waiting).content)
        except Unanswered:
            if self._memory.empty == "block" or not self._knows_no_count():
                raise
            self._waiting = ""
            return self._most
        return min(waiting, self._memory.most)

    def _knows_no_count(self) -> bool:
        """Of a meter that can do without: each empty memory then costs EMPTY_S."""
        self._conversation.fall_quiet()
        unknown = self._plan.dialect.errors.unknown
        return any(error.number in unknown for error in self._conversation.read_errors())

    def _ask_for(self, most: int) -> Reply | None:
        """None: the meter is one that says by an error that nothing is there."""
        question = filled(self._memory.question, most=most)
        if self._memory.empty == "block":
            return self._conversation.ask(question, self._patience_s + most * TRANSFER_S)
        try:
            return self._conversation.ask(question, EMPTY_S)
        except Unanswered:
            self._conversation.fall_quiet()
            if [error.number for error in self._conversation.read_errors()] != [NOTHING_THERE]:
                raise
            return None

    def _overflowed(self, asked_ns: int) -> bool:
        """Asked only where the memory has not been emptied: else it cannot have been full."""
        overflow = self._memory.overflow
        if overflow is None:
            return self._dating.unread_s(asked_ns) > self._memory.holds * self.period_s
        register = parse_integer(self._conversation.ask(overflow.question).content)
        return bool(register & 1 << overflow.bit)

    def _refuse_a_stall(self, shown: bool) -> None:
        now_ns = self._monotonic_ns()
        if shown:
            self._newest_ns = now_ns
        silent_s = (now_ns - self._newest_ns) / 1e9
        if silent_s > max(STALLED_LEAST_S, STALLED_PERIODS * self.period_s):
            raise Unanswered(f"no new reading in the meter's memory for {silent_s:.1f} s")
