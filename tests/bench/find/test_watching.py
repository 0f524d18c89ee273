"""One address looked at live: bytes and readings in their order. Lines and meters are invented."""

import threading
from collections.abc import Sequence

import pytest

from meterlog.bench import BenchError, SystemClock
from meterlog.bench.find import indicated, line_from, watch_bytes, watch_driver
from meterlog.quantity import Unit
from meterlog.reading import Indication, Line, Meter, Nanoseconds, Settings, State, Unanswered, Wire, WireLost
from meterlog.testing import FakeWire
from tests.bench.kit import PlainDriver, PlainMeter, volts


class Scripted(FakeWire):
    """Gives one piece for each read, b"" after a pause; at the end it sets `stop`."""

    def __init__(self, pieces: Sequence[bytes], stop: threading.Event) -> None:
        super().__init__()
        self._pieces = list(pieces)
        self._end = stop

    def read(self, wait_s: float) -> bytes:
        self.clock.now_ns += 100_000_000 if self._pieces[:1] == [b""] else 1_000_000
        if not self._pieces:
            self._end.set()
            return b""
        return self._pieces.pop(0)

    def write(self, data: bytes) -> None:
        pass


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("2400 8N1", Line(2400)),
        ("19200 baud 7o1", Line(19200, 7, "O")),
        (" 600 7N2 ", Line(600, 7, "N", 2.0)),
        ("9600 8E1.5", Line(9600, 8, "E", 1.5)),
    ],
)
def test_a_line_is_read_from_its_usual_short_form(text: str, line: Line) -> None:
    assert line_from(text) == line


@pytest.mark.parametrize("text", ["", "8N1", "9600", "9600 9N1", "9600 8X1", "9600 8N3", "9600 8N1 x"])
def test_anything_else_is_refused(text: str) -> None:
    with pytest.raises(BenchError, match="2400 8N1"):
        line_from(text)


def test_bytes_are_told_when_the_line_pauses() -> None:
    told: list[str] = []
    stop = threading.Event()
    wire = Scripted([b"\x15", b"\x25", b"", b"AB"], stop)
    watch_bytes(wire, wire.clock, tell=told.append, stop=stop)
    assert [text.split("  ")[0] for text in told] == ["« 15 25", "« 41 42"]


def test_a_long_stream_without_a_pause_is_told_too() -> None:
    told: list[str] = []
    stop = threading.Event()
    wire = Scripted([b"x" * 40] * 4, stop)
    watch_bytes(wire, wire.clock, tell=told.append, stop=stop)
    assert sum(text.count("78") for text in told) == 160
    assert len(told) == 10


class Asking(PlainDriver):
    """Asks before it reads, and complains the first time."""

    def __init__(self) -> None:
        super().__init__()
        self.tries = 0

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        self.tries += 1
        wire.write(b"?\n")
        if self.tries == 1:
            raise Unanswered("nothing came within 1 s")
        return PlainMeter(wire, "plain meter", monotonic_ns)


def test_readings_stand_behind_the_bytes_they_came_of() -> None:
    told: list[str] = []
    stop = threading.Event()
    wire = Scripted([b"1.5\n", b"2.5", b"\n"], stop)
    watch_driver(wire, Asking(), Settings(), wire.clock, tell=told.append, stop=stop)
    assert [" ".join(text.split()) for text in told] == [
        "» 3F 0A ?.",
        "! nothing came within 1 s",
        "» 3F 0A ?.",
        "plain meter",
        "« 31 2E 35 0A 1.5.",
        "= 1.500 V, dc",
        "« 32 2E 35 0A 2.5.",
        "= 2.500 V, dc",
    ]


def test_a_line_that_is_lost_ends_it() -> None:
    wire = FakeWire()
    wire.unplugged = True
    with pytest.raises(WireLost):
        watch_bytes(wire, SystemClock(), tell=lambda _: None, stop=threading.Event())


def test_what_is_no_number_is_shown_as_what_it_is() -> None:
    assert indicated(volts(None)) == "overload V, dc"
    shown = Indication(
        monotonic_ns=0,
        value=1234.0,
        unit=Unit.OHM,
        state=State.OK,
        function="resistance",
        flags=frozenset({"hold", "auto"}),
        resolution=1.0,
        display=2,
    )
    assert indicated(shown) == "display 2, 1234 ohm, resistance, auto, hold"
