"""Question and answer with a meter that speaks in lines, never out of step.

An answer belongs to the last question only if nothing else was on its way. So nothing is said while bytes
wait that nobody asked for, and after any failure nothing before `fall_quiet`. Deadlines are total, per
command, on the monotonic clock.
"""

from dataclasses import dataclass, field, replace

from meterlog.reading import Garbled, Nanoseconds, Refused, Unanswered, Wire
from meterlog_drivers.declared.line_cutter import ENDS, Cut
from meterlog_drivers.declared.line_decoder import LineDecoder
from meterlog_drivers.declared.line_model import Ask, Command
from meterlog_drivers.declared.template import LONGEST

QUIET_S = 0.15
READY = "ready"


@dataclass(slots=True)
class _Exchange:
    """What is still to come after a command was sent."""

    sent: str
    echo: bool
    wants_answer: bool
    wants_prompt: bool
    answer: Cut | None = None
    heard: bytes = field(default=b"")

    @property
    def done(self) -> bool:
        return not (self.echo or self.wants_answer or self.wants_prompt)


class Talk:
    """One meter on one wire, used by one thread."""

    def __init__(self, wire: Wire, decoder: LineDecoder, ask: Ask, monotonic_ns: Nanoseconds) -> None:
        self._wire = wire
        self._decoder = decoder
        self._ask = ask
        self._monotonic_ns = monotonic_ns
        self._in_step = True
        self._free_ns = 0

    def tell(self, command: Command) -> None:
        """Send what has no answer; wait for its echo and prompt where there are such."""
        self._exchanged(command, wants_answer=False)

    def ask(self, command: Command) -> Cut:
        """The line that answers, dated when the question was sent.

        Raises WireLost, Unanswered, Garbled, and Refused where the prompt says so.
        """
        answer = self._exchanged(command, wants_answer=True).answer
        assert answer is not None
        return answer

    def lose_step(self) -> None:
        """What came was no answer: nothing more is said before `fall_quiet`."""
        self._in_step = False

    def fall_quiet(self, quiet_s: float = QUIET_S) -> bytes:
        """Clear, then throw away what comes until nothing came for quiet_s; what that was. Raises Garbled."""
        if self._ask.clear:
            self._wire.write(self._ask.clear.encode("ascii"))
        self._wire.drop_input()
        deadline_ns = self._monotonic_ns() + round((2.0 + 3.0 * quiet_s) * 1e9)
        heard = b""
        while data := self._wire.read(quiet_s):
            heard = (heard + data.strip(b"\r\n "))[:LONGEST]
            if self._monotonic_ns() >= deadline_ns:
                raise Garbled(
                    "bytes still come, though nothing was asked: does this meter talk by itself? "
                    "Then its file has no [ask]"
                )
        self._in_step = True
        return heard

    def patience_s(self, command: Command) -> float:
        return self._ask.patience if command.patience is None else command.patience

    def _exchanged(self, command: Command, *, wants_answer: bool) -> _Exchange:
        self._wait_for_turn()
        self._in_step = False
        sent = command.send + self._ask.execute
        exchange = _Exchange(sent, self._ask.echo, wants_answer, bool(self._ask.prompts))
        self._wire.write(sent.encode("ascii") + ENDS[self._ask.end])
        asked_ns = self._monotonic_ns()  # the wire may have been held off
        self._wait_for(exchange, asked_ns + round(self.patience_s(command) * 1e9), command)
        self._free_ns = self._monotonic_ns() + round(max(self._ask.gap, command.pause) * 1e9)
        self._in_step = True
        if exchange.answer:
            exchange.answer = replace(exchange.answer, at_ns=asked_ns)
        return exchange

    def rest(self, until_ns: int) -> None:
        """Say nothing before then. Raises Garbled, WireLost."""
        self._free_ns = max(self._free_ns, until_ns)
        self._wait_for_turn()

    def _wait_for_turn(self) -> None:
        """Until the gap between commands has passed; nothing may come meanwhile but the rest of an end."""
        if not self._in_step:
            raise Garbled("the last question failed, and the answers have not been put in step since")
        while True:
            left_s = max(0.0, (self._free_ns - self._monotonic_ns()) / 1e9)
            data = self._wire.read(left_s)
            if data.strip(b"\r\n "):
                self._in_step = False
                raise Garbled(f"{data[:40]!r} came, though it was not asked for")
            if not data and self._monotonic_ns() >= self._free_ns:
                return

    def _wait_for(self, exchange: _Exchange, deadline_ns: int, command: Command) -> None:
        cutter = self._decoder.cutter(begun=True)
        longest_s = self._decoder.tables.receive.idle or 3600.0
        while not exchange.done:
            now_ns = self._monotonic_ns()
            if now_ns >= deadline_ns:
                raise Unanswered(self._nothing(exchange, command))
            data = self._wire.read(min(longest_s, (deadline_ns - now_ns) / 1e9))
            exchange.heard = (exchange.heard + data)[:40]
            for cut in cutter.feed(data, self._monotonic_ns()):
                self._take(cut, exchange)
            if cutter.pending.strip().decode("latin-1") in self._ask.prompts:
                self._take(cutter.take(), exchange)
        if cutter.pending.strip(b"\r\n "):
            raise Garbled(f"{cutter.pending[:40]!r} came after the answer to {exchange.sent}")

    def _nothing(self, exchange: _Exchange, command: Command) -> str:
        what = f"only {exchange.heard!r} came" if exchange.heard else "nothing came"
        return f"no whole answer to {exchange.sent} within {self.patience_s(command):g} s: {what}"

    def _take(self, cut: Cut, exchange: _Exchange) -> None:
        text = cut.line.decode("latin-1")
        if exchange.echo:
            if text.strip() != exchange.sent:
                raise Garbled(f"{text!r} came instead of the echo of {exchange.sent}")
            exchange.echo = False
        elif text.strip() in self._ask.prompts:
            self._prompted(self._ask.prompts[text.strip()], exchange)
        elif exchange.wants_answer:
            exchange.answer, exchange.wants_answer = cut, False
        else:
            raise Garbled(f"{text!r} came, though it was not asked for, after {exchange.sent}")

    def _prompted(self, meaning: str, exchange: _Exchange) -> None:
        exchange.wants_prompt = False
        if meaning != READY:
            self._in_step = True
            raise Refused(f"the meter says: {exchange.sent} is {meaning}")
        if exchange.wants_answer:
            raise Garbled(f"the meter is ready again but has not answered {exchange.sent}")
