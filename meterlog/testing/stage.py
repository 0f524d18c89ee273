"""A specimen on a fake wire, treated as a link would treat it; each call is looked at on the way."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from meterlog.reading import Garbled, Indication, Meter, Settings, State, Unanswered, WireError, WireLost
from meterlog.testing.clock import FakeClock
from meterlog.testing.specimen import Answers, Row, Specimen
from meterlog.testing.wire import Chunks, FakeWire

POLL_WAIT_S = 0.5
ANSWER_S = 0.002
SLACK_S = 0.25
"""What a poll of a meter that talks may take beyond what it was told: a piece may be on its way."""


class Stage:
    """One far end and one driver. `script`: the chunks of each frame, or of each answer to a poll.

    What is asked to connect or to come back in step is answered beside the script, until the script is over:
    then nobody answers any more.

    asked  each question for a reading: when it came, and what it was answered
    """

    def __init__(self, specimen: Specimen, script: Sequence[Chunks], answers: Answers | None = None) -> None:
        self.specimen = specimen
        self.clock = FakeClock()
        self.wire = FakeWire(self.clock, self._hear)
        self.asked: list[tuple[int, bytes]] = []
        self.meter: Meter | None = None
        self._answers = answers or specimen.answers()
        self._polling = False
        self._script = [] if specimen.talks else list(script)
        for chunks in script if specimen.talks else ():
            self.wire.send(chunks)

    @property
    def is_over(self) -> bool:
        """The far end has said all that it had to say."""
        return self.wire.is_quiet and not self._script

    def connect(self, settings: Settings | None = None) -> Meter:
        wanted = self.specimen.settings if settings is None else settings
        with self._watched("connect", self.specimen.longest_s, WireError, ValueError):
            self.meter = self.specimen.driver.connect(self.wire, wanted, self.clock)
        return self.meter

    def poll(self) -> list[Indication]:
        assert self.meter is not None
        allowed_s = POLL_WAIT_S + SLACK_S if self.specimen.talks else self.specimen.longest_s
        self._polling = True
        try:
            with self._watched("poll", allowed_s, WireLost, Unanswered, Garbled):
                return list(self.meter.poll(POLL_WAIT_S))
        finally:
            self._polling = False

    def resynchronise(self) -> None:
        assert self.meter is not None
        with self._watched("resynchronise", self.specimen.longest_s, WireError):
            self.meter.resynchronise()

    def close(self) -> None:
        """May be called twice; the wire is not the meter's to close."""
        for _ in range(2 if self.meter else 0):
            assert self.meter is not None
            with self._watched("close", self.specimen.longest_s):
                self.meter.close()
        assert self.wire.closed == 0, "the driver closed the wire; that is the bench's"

    def seen(self, most_polls: int = 2000) -> list[Indication]:
        """All that a link would see until the far end is done: it resynchronises once, then connects anew."""
        found: list[Indication] = []
        for _ in range(most_polls):
            if self.meter is None and not self._connected():
                continue
            found += self._polled()
            if self.is_over:
                return [*found, *(self._polled() if self.meter else [])]
        return found

    def _connected(self) -> bool:
        try:
            self.connect()
        except (Unanswered, Garbled):
            return False
        return True

    def _polled(self) -> list[Indication]:
        try:
            return self.poll()
        except (Unanswered, Garbled):
            self._back_in_step()
            return []

    def _back_in_step(self) -> None:
        try:
            self.resynchronise()
        except WireLost:
            raise
        except WireError:
            self.close()
            self.meter = None

    def _hear(self, data: bytes) -> Chunks:
        if data != self.specimen.question:
            answer = self._answers(data)
            return [(ANSWER_S, answer)] if answer else ()
        chunks = self._next_answer() if self._script else ()
        self.asked.append((self.clock.now_ns, b"".join(piece for _, piece in chunks)))
        return chunks

    def _next_answer(self) -> Chunks:
        if self._polling:
            return self._script.pop(0)
        free = self.specimen.readings
        return usual(self.specimen, free[len(self.asked) % len(free)])

    @contextmanager
    def _watched(self, what: str, within_s: float, *allowed: type[Exception]) -> Iterator[None]:
        began_ns = self.clock.now_ns
        try:
            yield
        except allowed:
            self._in_time(what, began_ns, within_s)
            raise
        except AssertionError:
            raise
        except Exception as error:
            names = ", ".join(one.__name__ for one in allowed) or "nothing"
            raise AssertionError(
                f"{what} raised {type(error).__name__}: {error}; it may raise {names}"
            ) from error
        self._in_time(what, began_ns, within_s)

    def _in_time(self, what: str, began_ns: int, within_s: float) -> None:
        took_s = (self.clock.now_ns - began_ns) / 1e9
        assert took_s <= within_s, f"{what} took {took_s:.2f} s; it must end within {within_s:g} s"


def usual(specimen: Specimen, row: Row) -> Chunks:
    """A row's bytes, whole and in time."""
    return [(specimen.period_s, row.data)]


def connected(specimen: Specimen, script: Sequence[Chunks]) -> Stage:
    """The script begins with what a meter would send or answer: it must be connected."""
    stage = Stage(specimen, script)
    try:
        stage.connect()
    except (WireError, ValueError) as error:
        raise AssertionError(f"a good meter was refused: {type(error).__name__}: {error}") from error
    return stage


def assert_shown(found: Sequence[Indication], rows: Sequence[Row]) -> None:
    """These indications and no others, in this order."""
    wanted = [(row, shown) for row in rows for shown in row.shown]
    for indication, (row, shown) in zip(found, wanted, strict=False):
        misfit = shown.misfit(indication)
        assert not misfit, f"{row.name} ({row.data!r}): {misfit}"
    assert len(found) == len(wanted), f"{len(found)} indications came, {len(wanted)} were wanted: {found}"


def assert_true(found: Sequence[Indication], rows: Sequence[Row], what: str) -> None:
    """No value but what these rows say, in their order; some may be missing, and there may be no value."""
    left = iter([shown for row in rows for shown in row.shown])
    for indication in found:
        no_value = indication.state in (State.BLANK, State.INVALID)
        assert no_value or any(not shown.misfit(indication) for shown in left), (
            f"{what}: the stream does not justify {indication}"
        )


def assert_belongs(stage: Stage, indication: Indication, what: str) -> None:
    """It says what the question was answered that it is dated by: the first that was not sent before."""
    at_ns = indication.monotonic_ns
    answer = next((answer for sent_ns, answer in stage.asked if at_ns <= sent_ns), None)
    assert answer is not None, f"{what}: {indication} is dated after the last question was sent"
    row = next((row for row in stage.specimen.rows if row.data == answer), None)
    assert row is not None, f"{what}: {indication} is dated by a question that was answered {answer!r}"
    misfit = "; ".join(shown.misfit(indication) for shown in row.shown)
    assert not misfit, f"{what}: {indication} is dated by a question that was answered {answer!r}: {misfit}"
