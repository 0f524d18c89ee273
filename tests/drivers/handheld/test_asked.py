"""Meters that answer each question once: no late answer is ever taken for the answer to the next question."""

from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Garbled, Indication, Meter, Settings, Unanswered, WireError
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.handheld import ascii14


class AskedWire(FakeWire):
    """The far end hears bytes, not lines."""

    def write(self, data: bytes) -> None:
        self.written.append(data)
        self.send(self._far_end(data))


def volts(number: int) -> bytes:
    """An answer of ascii14 that tells which question it is to."""
    return f"DC {number:6d}   V\r".encode("ascii")


class Numbered:
    """Answers the n-th question with n volts, after the n-th delay; usually 0.2 s. None: not at all.

    rests_s: how long after its beginning the rest of an answer comes; usually 0.1 s.
    """

    def __init__(self, delays_s: dict[int, float | None] | None = None) -> None:
        self.delays_s = delays_s or {}
        self.rests_s: dict[int, float] = {}
        self.asked_ns: dict[int, int] = {}
        self.clock = FakeClock()
        self.wire = AskedWire(self.clock, self._answer)

    def _answer(self, question: bytes) -> Chunks:
        number = len(self.asked_ns) + 1
        self.asked_ns[number] = self.clock()
        delay_s = self.delays_s.get(number, 0.2)
        if delay_s is None:
            return []
        return [(delay_s, volts(number)[:5]), (self.rests_s.get(number, 0.1), volts(number)[5:])]

    def connect(self, dialect: str = "") -> Meter:
        return ascii14.driver.connect(self.wire, Settings(dialect=dialect), self.clock)


def poll(meter: Meter) -> list[Indication]:
    """Until a question was due."""
    for _ in range(10):
        if found := meter.poll(0.25):
            return list(found)
    return []


def test_each_poll_asks_once_and_dates_by_the_question() -> None:
    far = Numbered()
    meter = far.connect()
    asked_before = len(far.asked_ns)
    found = [shown for _ in range(5) for shown in poll(meter)]
    assert [shown.value for shown in found] == [asked_before + 1.0 + n for n in range(5)]
    assert [shown.monotonic_ns for shown in found] == [far.asked_ns[int(shown.value or 0)] for shown in found]
    assert set(far.wire.written) == {b"D"}


def test_it_is_not_asked_faster_than_it_measures() -> None:
    far = Numbered(dict.fromkeys(range(1, 20), 0.0))
    meter = far.connect()
    dates_ns = [poll(meter)[0].monotonic_ns for _ in range(5)]
    gaps_s = [(b - a) / 1e9 for a, b in pairwise(dates_ns)]
    assert min(gaps_s) >= ascii14.FORMAT.period_s
    assert meter.poll(0.01) == [], "too early, and no longer than told"


def test_a_late_answer_is_not_taken_for_the_next_one() -> None:
    far = Numbered({2: 1.4})
    meter = far.connect()
    with pytest.raises(Unanswered, match="nothing came within 1 s"):
        poll(meter)
    meter.resynchronise()
    (shown,) = poll(meter)
    assert shown.monotonic_ns == far.asked_ns[int(shown.value or 0)]
    assert shown.value not in (1.0, 2.0)


@given(
    late=st.integers(1, 6),
    delay_s=st.one_of(st.none(), st.floats(0.0, 3.5)),
    others=st.lists(st.floats(0.0, 0.85), max_size=12),
)
def test_however_late_one_answer_is_each_reading_belongs_to_its_question(
    late: int, delay_s: float | None, others: list[float]
) -> None:
    far = Numbered(dict(enumerate(others, start=1)) | {late: delay_s})
    meter = _through(far, far.connect)
    for _ in range(8):
        try:
            found = poll(meter)
        except (Unanswered, Garbled):
            meter = _through(far, far.connect, meter)
            continue
        for shown in found:
            assert far.asked_ns[int(shown.value or 0)] == shown.monotonic_ns


def _through(far: Numbered, connect: Callable[[], Meter], meter: Meter | None = None) -> Meter:
    """As a link does it: put in step again, and if that fails opened anew."""
    try:
        if meter is not None:
            meter.resynchronise()
            return meter
        return connect()
    except WireError:
        far.wire.close()  # what was on its way is lost with the port
        return connect()


def test_half_an_answer_is_garbled_and_its_rest_is_not_read() -> None:
    far = Numbered()
    far.rests_s[2] = 1.3
    meter = far.connect()
    with pytest.raises(Garbled, match="bytes came within 1 s, but no reading"):
        poll(meter)
    meter.resynchronise()
    (shown,) = poll(meter)
    assert shown.monotonic_ns == far.asked_ns[int(shown.value or 0)]


def test_an_answer_to_somebody_before_us_is_not_ours() -> None:
    """The computer was restarted between a question and its answer."""
    far = Numbered()
    far.wire.send([(0.3, volts(77))])
    meter = far.connect()
    assert [shown.value for shown in poll(meter)] == [2.0]


def test_one_that_talks_by_itself_is_no_such_meter() -> None:
    far = Numbered()
    far.wire.send([(0.3, volts(7))] * 100)
    with pytest.raises(Garbled, match="talks without being asked"):
        far.connect()


def test_silence_names_what_to_look_at() -> None:
    far = Numbered(dict.fromkeys(range(1, 9)))
    with pytest.raises(Unanswered, match=r"DTR on, RTS off.*1200-cr"):
        far.connect()
    assert far.clock() < 4e9, "a few seconds at most"


@pytest.mark.parametrize(
    ("dialect", "question", "baud", "answer_s"),
    [
        ("", b"D", 1200, 1.0),
        ("1200-cr", b"D\r", 1200, 1.0),
        ("600", b"D", 600, 1.5),
        ("600-cr", b"D\r", 600, 1.5),
    ],
)
def test_speed_and_question_by_dialect(dialect: str, question: bytes, baud: int, answer_s: float) -> None:
    """600 or 1200 baud, D or D and CR, 1 s at 1200 and 1.5 s at 600: two hobbyists' descriptions."""
    far = Numbered({2: answer_s - 0.15})
    meter = far.connect(dialect)
    assert [shown.value for shown in poll(meter)] == [2.0]
    assert set(far.wire.written) == {question}
    line = ascii14.driver.line_for(Settings(dialect=dialect))
    assert (line.baud, line.data_bits, line.parity, line.stop_bits) == (baud, 8, "N", 1)
    assert (line.dtr, line.rts) == (True, False)
