"""Who is at an address: over pseudo-terminals and sockets, against simulated and invented meters."""

import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from meterlog.bench import BenchError, load_bench_text, load_driver
from meterlog.bench.find import Finder, Held, Trouble, find_all, held_by, holding, longest_s, recognising
from meterlog.bench.find.held import resolved
from meterlog.bench.find.holder import holder_of
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Driver, Line, Wire, WireLost
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.handheld import DC_PLAN, Handheld
from meterlog.simulate.meter import MeterModel
from meterlog.testing import Chunks, FakeClock, FakeWire, Instrument, Terminal
from tests.bench.find.kit import FAST, SLOW, Knowing, asked, talks

pytestmark = pytest.mark.wire
PATIENCE_S = 60.0
"""For a busy machine."""


@pytest.fixture
def terminal() -> Iterator[Terminal]:
    with Terminal() as terminal:
        yield terminal


@pytest.fixture
def handheld(tmp_path: Path) -> Iterator[Handheld]:
    """1.5 V dc, as a meter with the FS9721_LP3 chip sends it."""
    model = MeterModel(DC_PLAN, lambda _: 1.5, "handheld")
    meter = Handheld("handheld", model, "dc", tmp_path / "port", RunningClock())
    meter.start()
    yield meter
    meter.close()


def finder(*drivers: Driver, **more: object) -> Finder:
    return Finder({driver.name: driver for driver in drivers}, **more)  # type: ignore[arg-type]


def test_a_handheld_is_known_by_its_frames_and_shows_what_it_measures(handheld: Handheld) -> None:
    told: list[str] = []
    found = finder(load_driver("fs9721")).find(handheld.address, told.append)
    [match] = found.matches
    assert match.driver == "fs9721"
    assert match.line is not None
    assert match.line.baud == 2400
    [shown] = found.shows
    assert shown.value == pytest.approx(1.5, abs=0.01)
    assert (shown.unit, shown.coupling, shown.function) == (Unit.VOLT, Coupling.DC, "voltage")
    assert (found.trouble, found.do) == (Trouble.NONE, ())
    assert told == [f"{handheld.address}: 2400 baud 8N1 (fs9721)"]


def test_nothing_is_sent_to_a_meter_that_talks(terminal: Terminal) -> None:
    knowing = Knowing([talks(b"here"), asked(b"who\n", b"answer")])
    with terminal.talking(b"here "):
        assert finder(knowing).find(terminal.path).matches
    assert terminal.heard(0.1) == b""


def test_one_that_must_be_asked_is_asked_at_its_line(terminal: Terminal) -> None:
    opened: list[Line] = []

    def answer() -> None:
        while not terminal.heard(5.0).endswith(b"who\n"):
            pass
        terminal.send(b"it is me\n")

    answering = threading.Thread(target=answer)
    answering.start()
    knowing = Knowing([talks(b"here", SLOW), asked(b"who\n", b"me", FAST)])
    found = finder(knowing, open_wire=_noting(opened)).find(terminal.path)
    answering.join()
    assert [(match.identity.text, match.line) for match in found.matches] == [("me", FAST)]
    assert opened == [SLOW, FAST], "a port is opened once for each line"


def _noting(opened: list[Line]) -> object:
    from meterlog.bench.wires import open_wire

    def open_one(address: str, line: Line) -> Wire:
        opened.append(line)
        return open_wire(address, line)

    return open_one


def test_listening_only_sends_nothing(terminal: Terminal) -> None:
    found = finder(Knowing([asked(b"who\n", b"me")]), may_ask=False).find(terminal.path)
    assert found.trouble is Trouble.SILENT
    assert "Nothing was sent" in found.do[-1]
    assert terminal.heard(0.1) == b""


def test_a_silent_port_takes_no_longer_than_said() -> None:
    """By a clock that moves when somebody waits."""
    knowing, clock = Knowing([talks(b"a", SLOW, 0.3), asked(b"who\n", b"b", FAST, 0.4)]), FakeClock()
    began_ns = clock.now_ns
    found = finder(knowing, clock=clock, open_wire=lambda *_: FakeWire(clock)).find("/dev/silent")
    assert found.trouble is Trouble.SILENT
    assert found.says == "nothing came; tried: 1200 baud 8N1, 19200 baud 8N1"
    assert longest_s({"knowing": knowing}) == pytest.approx(0.7)
    assert (clock.now_ns - began_ns) / 1e9 == pytest.approx(0.7)


def test_bytes_that_nobody_knows_are_kept(terminal: Terminal) -> None:
    with terminal.talking(b"\x15\x25\x3b", 0.02):
        found = finder(Knowing([talks(b"a", SLOW, 0.2), talks(b"b", FAST, 0.2)])).find(terminal.path)
    assert found.trouble is Trouble.FOREIGN
    assert [one.line for one in found.heard] == [SLOW, FAST]
    assert all(b"\x15\x25\x3b" in one.data for one in found.heard)


def test_a_flood_is_bounded() -> None:
    class Flood(FakeWire):
        def read(self, wait_s: float) -> bytes:
            time.sleep(0.001)
            return bytes(range(256)) * 8

    found = finder(Knowing([talks(b"never", SLOW, 0.3)]), open_wire=lambda *_: Flood()).find("/dev/x")
    assert len(found.heard[0].data) == 4096


def test_modem_commands_name_the_service(terminal: Terminal) -> None:
    with terminal.talking(b"AT\r\nATZ\r\n"):
        found = finder(Knowing([talks(b"a", SLOW, 0.2)]), system="linux").find(terminal.path)
    assert found.trouble is Trouble.MODEM
    assert "ModemManager" in " ".join(found.do)


def test_all_that_fits_is_told(terminal: Terminal) -> None:
    knowing = Knowing([talks(b"AB", dialect="wide"), talks(b"A", dialect="narrow")])
    with terminal.talking(b"AB"):
        found = finder(knowing).find(terminal.path)
    assert [match.dialect for match in found.matches] == ["wide", "narrow"]


def test_a_port_that_vanishes_is_told_as_that(terminal: Terminal) -> None:
    pulling = threading.Timer(0.2, terminal.unplug)
    pulling.start()
    found = finder(Knowing([talks(b"a", SLOW, 3.0)]), system="linux").find(terminal.path)
    pulling.join()
    assert found.trouble is Trouble.VANISHED
    assert "brltty" in " ".join(found.do)


def test_an_absent_port_is_told_as_that() -> None:
    found = finder(Knowing([talks(b"a")])).find("/dev/serial/by-id/absent")
    assert found.trouble is Trouble.ABSENT
    assert found.do


def test_a_port_in_use_names_the_program(terminal: Terminal) -> None:
    script = "import os, sys, fcntl; f = os.open(sys.argv[1], os.O_RDWR | os.O_NOCTTY)\n"
    script += "fcntl.flock(f, fcntl.LOCK_EX); print('held', flush=True); sys.stdin.read()"
    with subprocess.Popen(
        [sys.executable, "-c", script, terminal.path], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == b"held\n"
        found = finder(Knowing([talks(b"a")])).find(terminal.path)
        other.communicate()
    assert found.trouble is Trouble.IN_USE
    assert f"process {other.pid}, python" in found.says
    assert "End process" in found.do[0]


def test_nobody_is_named_where_nobody_is_known(tmp_path: Path) -> None:
    assert holder_of(str(tmp_path / "port")) == ""
    assert holder_of("/dev/null", tmp_path / "absent") == ""


def test_an_instrument_on_the_network_is_asked(terminal: Terminal) -> None:
    scpi = load_driver("scpi")
    with Instrument(lambda line: [(0.0, b"Some Maker,M-1,17,2.0\n")]) as far:
        found = finder(scpi).find(f"TCPIP::127.0.0.1::{far.port}::SOCKET")
    [match] = [one for one in found.matches if not one.dialect]
    assert (match.driver, match.identity.model, match.line) == ("scpi", "M-1", None)
    assert found.heard[0].line is None


def test_no_other_drivers_question_spoils_that_of_the_right_one() -> None:
    """An instrument that takes all before the LF as one line (IEEE 488.2); all drivers of ours."""
    every, _ = recognising()

    def answer(line: bytes) -> Chunks:
        return [(0.0, b"Some Maker,M-1,17,2.0\n")] if line.strip() == b"*IDN?" else []

    with Instrument(answer) as far:
        found = Finder(every).find(f"TCPIP::127.0.0.1::{far.port}::SOCKET")
    assert [match.driver for match in found.matches] == ["scpi"]


def test_nobody_on_the_network_is_told_with_what_to_do() -> None:
    with Instrument() as far:
        port = far.port
    found = finder(Knowing([asked(b"who\n", b"x")])).find(f"TCPIP::127.0.0.1::{port}::SOCKET")
    assert found.trouble is Trouble.UNREACHED
    assert "refuses the connection" in found.says


def test_what_carries_messages_is_not_listened_to() -> None:
    """Fetching where nothing was asked is an error of the instrument's."""

    class Messages(FakeWire):
        def __init__(self) -> None:
            super().__init__()
            self.asked = False

        def write(self, data: bytes) -> None:
            self.asked = True

        def read(self, wait_s: float) -> bytes:
            assert self.asked
            return b"me"

    knowing = Knowing([talks(b"never"), asked(b"who\n", b"me")])
    found = finder(knowing, open_wire=lambda *_: Messages()).find("TCPIP::192.0.2.1::INSTR")
    assert [match.identity.text for match in found.matches] == ["me"]


def test_usb_without_permission_is_told_with_a_rule() -> None:
    def refuse(address: str, line: Line) -> Wire:
        raise WireLost(f"{address}: the VISA library says: [Errno 13] Access denied")

    found = finder(Knowing([asked(b"who\n", b"x")]), open_wire=refuse, system="linux").find(
        "USB::0x1::0x2::3::INSTR"
    )
    assert found.trouble is Trouble.USB_FORBIDDEN
    assert "uaccess" in found.do[0]


def test_what_is_no_address_is_refused() -> None:
    with pytest.raises(BenchError, match="is no address"):
        finder(Knowing([talks(b"a")])).find("COM")


def test_ports_are_looked_at_together_and_each_once(tmp_path: Path) -> None:
    with Terminal(tmp_path / "one") as one, Terminal(tmp_path / "two") as two:
        real = os.path.realpath(two.path)
        held = [Held(real, "bench meter")]
        opened: list[Line] = []
        found = find_all(
            finder(Knowing([talks(b"a", SLOW, 1.0)]), open_wire=_noting(opened)),
            [one.path, os.path.realpath(one.path), two.path, "TCPIP::h::1::SOCKET"][:3],
            held,
            lambda _: None,
        )
    assert [(one.trouble, one.address) for one in found] == [
        (Trouble.SILENT, one.path),
        (Trouble.HELD, two.path),
    ]
    assert "bench meter" in found[1].says
    assert opened == [SLOW], "the first of them, by one of its two names"


def test_a_stop_ends_it_soon(terminal: Terminal) -> None:
    """An hour to the end."""
    looking = finder(Knowing([talks(b"a", SLOW, 1800.0), talks(b"b", FAST, 1800.0)]))
    told: list[str] = []

    def tell(text: str) -> None:
        told.append(text)
        threading.Timer(0.2, looking.stop.set).start()

    thread = threading.Thread(target=looking.find, args=(terminal.path, tell), daemon=True)
    thread.start()
    thread.join(PATIENCE_S)
    assert not thread.is_alive()
    assert told == [f"{terminal.path}: 1200 baud 8N1 (knowing)"]


BENCH = """
[bench]
name = "b"
[[meter]]
name = "bench meter"
driver = "scpi"
address = "TCPIP::127.0.0.1::9::SOCKET"
[[channel]]
name = "output"
meter = "bench meter"
coupling = "ac"
[[source]]
name = "generator"
driver = "scpi"
address = "/dev/ttyUSB0"
most = "1 V"
"""


def test_what_the_bench_reads_or_sets_is_held_under_every_name() -> None:
    held = held_by(load_bench_text(BENCH, "bench.toml"))
    assert [one.instrument for one in held] == ["bench meter", "generator"]
    assert holding(held, "tcpip0::127.0.0.1::9::socket") == held[0]
    assert holding(held, "TCPIP::127.0.0.1::10::SOCKET") is None
    assert resolved("no address") == "no address"
