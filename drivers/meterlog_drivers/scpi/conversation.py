"""Questions and answers with a SCPI instrument, never out of step.

An answer belongs to the last question only if nothing else was on its way. So nothing is said while
bytes wait that nobody asked for, and after any failure nothing is said before `synchronise`.
Deadlines are total, per question, on the monotonic clock: a line that babbles cannot hold it up.
"""

import logging
from dataclasses import dataclass

from meterlog.reading import Garbled, Identity, Nanoseconds, Unanswered, Wire, WrongMeter
from meterlog_drivers.scpi.answers import (
    DeviceError,
    errors_of_events,
    parse_error,
    parse_identity,
    parse_integer,
)
from meterlog_drivers.scpi.assembler import Answer, Assembler
from meterlog_drivers.scpi.dialect import Dialect
from meterlog_drivers.scpi.dialect_tables import Errors

CONTROL_S = 2.0
"""For questions that need no measurement."""
QUIET_S = 0.15
QUIET_LIMIT_S = 2.0
LONGEST_QUEUE = 40
"""Queues of 10, 20 and 30 entries are known."""
SYNCHRONISE_TRIES = 3
INPUT_CHARACTERS = 100
"""What the input of a serial meter takes before it must hold the sender up (a maker's manual); it cannot hold
up one that does not watch the control lines."""

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer and when its question was sent and its last byte came."""

    answer: Answer
    asked_ns: int
    answered_ns: int

    @property
    def content(self) -> bytes:
        return self.answer.content


class Conversation:
    """One instrument on one wire, used by one thread."""

    def __init__(self, wire: Wire, monotonic_ns: Nanoseconds, terminator: bytes = b"\n") -> None:
        self._wire = wire
        self._monotonic_ns = monotonic_ns
        self._terminator = terminator
        self._assembler = Assembler(b"\r" if terminator == b"\r" else b"\n")
        self._errors = Errors()
        self._clear = b""
        self._in_step = True
        self._miscount_told = False
        self._unread = 0

    def speak(self, dialect: Dialect) -> None:
        """How errors are asked for and an answer is stopped, from now on."""
        self._errors = dialect.errors
        self._clear = dialect.clear.encode("ascii")

    def tell(self, command: str) -> None:
        """Send what has no answer. Raises WireLost, Garbled, Unanswered.

        What the instrument may not have read yet never grows beyond its input.
        """
        if self._unread and self._unread + len(command) > INPUT_CHARACTERS:
            self.ask("*OPC?")
        self._insist_on_step()
        self._unread += len(command) + len(self._terminator)
        self._wire.write(command.encode("ascii") + self._terminator)

    def rest(self, seconds: float) -> None:
        """Say nothing for a while. Raises Garbled if something comes meanwhile, and WireLost."""
        self._insist_on_step(max(0.0, seconds))

    def ask(self, question: str, patience_s: float = CONTROL_S) -> Reply:
        """Raises WireLost, Garbled, and Unanswered when patience_s have passed without a whole answer."""
        self._insist_on_step()
        self._in_step = False
        asked_ns = self._monotonic_ns()
        self._wire.write(question.encode("ascii") + self._terminator)
        answer = self._answer(question, asked_ns, patience_s)
        self._refuse_unasked(self._assembler.clear())
        self._in_step = True
        self._unread = 0
        self._tell_miscount(answer, question)
        return Reply(answer, asked_ns, self._monotonic_ns())

    def read_errors(self) -> list[DeviceError]:
        """Empty the error queue, oldest first. Raises Garbled if it has no end."""
        if not self._errors.question:
            return errors_of_events(self.events())
        errors: list[DeviceError] = []
        while len(errors) < LONGEST_QUEUE:
            error = parse_error(self.ask(self._errors.question).content)
            if error.number == 0:
                return errors
            errors.append(error)
        raise Garbled(f"the error queue does not end after {LONGEST_QUEUE} entries; the last: {errors[-1]}")

    @property
    def has_queue(self) -> bool:
        """Whether errors can be asked for one by one."""
        return bool(self._errors.question)

    def events(self) -> int:
        """The standard event status register, which is cleared by it."""
        return parse_integer(self.ask(self._errors.events).content)

    def status_byte(self) -> int:
        """0 where the dialect asks for none."""
        return parse_integer(self.ask(self._errors.byte).content) if self._errors.byte else 0

    def synchronise(self, patience_s: float = CONTROL_S) -> Identity:
        """Wait for quiet, then prove by *IDN? and *OPC? that answers belong to their questions.

        patience_s: how long the instrument may still be busy with the last question. A late answer
        shifts the answers by one, so that one of the two is not of its kind: then it begins again.
        """
        for _ in range(SYNCHRONISE_TRIES):
            self.fall_quiet()
            try:
                identity = parse_identity(self.ask("*IDN?", patience_s).content)
                if self._has_done_all():
                    return identity
            except Garbled as reason:
                log.info("out of step, once more: %s", reason)
        self._in_step = False
        raise Garbled(
            f"out of step after {SYNCHRONISE_TRIES} tries: *IDN? and *OPC? are not answered as they should "
            "be; does another program use this instrument?"
        )

    def _has_done_all(self) -> bool:
        """*OPC? is answered by 1. One that measures without end may never answer it (IEEE 488.2, from memory,
        lets it wait): that one is stopped."""
        try:
            return parse_integer(self.ask("*OPC?").content) == 1
        except Unanswered as reason:
            log.info("stopping what it may be measuring: %s", reason)
            self.fall_quiet()
            self.tell("ABOR")
            return False

    def fall_quiet(self) -> None:
        """Throw away what comes until nothing comes; after it something may be said. Raises Garbled."""
        if self._clear:
            self._wire.write(self._clear)
        self._wire.drop_input()
        self._assembler.clear()
        deadline_ns = self._monotonic_ns() + round(QUIET_LIMIT_S * 1e9)
        while self._wire.read(QUIET_S):
            if self._monotonic_ns() >= deadline_ns:
                raise Garbled(f"bytes still come after {QUIET_LIMIT_S:g} s, though nothing was asked")
        self._in_step = True

    def expect(self, identity: Identity, known: Identity) -> None:
        """Raises WrongMeter, and falls out of step, if another instrument answers than before."""
        if identity != known:
            self._in_step = False
            raise WrongMeter(f'"{identity.text}" answers now; it was "{known.text}"')

    def _answer(self, question: str, asked_ns: int, patience_s: float) -> Answer:
        deadline_ns = asked_ns + round(patience_s * 1e9)
        came = b""
        while (left_ns := deadline_ns - self._monotonic_ns()) > 0:
            data = self._wire.read(left_ns / 1e9)
            answer = self._assembler.feed(data)
            if answer is not None:
                return answer
            came = (came + data)[:40]
        text = f"only {came!r} came" if came else "nothing came"
        raise Unanswered(f"no answer to {question} within {patience_s:.1f} s: {text}")

    def _insist_on_step(self, wait_s: float = 0.0) -> None:
        if not self._in_step:
            raise Garbled("the last question failed, and the answers have not been put in step since")
        self._refuse_unasked(self._wire.read(wait_s))

    def _refuse_unasked(self, data: bytes) -> None:
        """Which of several answers would belong to the question? White space is a terminator's rest."""
        if data.strip():
            self._in_step = False
            raise Garbled(f"{data[:40]!r} came, though it was not asked for")

    def _tell_miscount(self, answer: Answer, question: str) -> None:
        if answer.miscounted and not self._miscount_told:
            self._miscount_told = True
            log.warning(
                "the block that answers %s is one byte shorter than its count; taken as it is", question
            )
