"""What breaks on a plain TCP connection, below any driver, provoked on the loopback interface.

Letters and numbers only tell faults apart.
"""

import socket
import threading
import time
from collections.abc import Callable

import pytest

from meterlog.bench.wires.socket_wire import KEEPALIVE, SocketWire
from meterlog.reading import WireLost
from meterlog.testing import Instrument

pytestmark = pytest.mark.wire

LONG_S = 30.0


def opened(instrument: Instrument) -> SocketWire:
    return SocketWire("127.0.0.1", instrument.port)


def test_b4_a_connection_closed_by_the_instrument_is_a_lost_wire() -> None:
    with Instrument(lambda line: [(0.0, b"1\n")]) as instrument:
        wire = opened(instrument)
        wire.write(b"?\n")
        assert wire.read(LONG_S) == b"1\n"
        instrument.hang_up()
        with pytest.raises(WireLost, match="closed the connection"):
            wire.read(LONG_S)
        wire.close()


@pytest.mark.parametrize(
    "use", [lambda wire: wire.read(LONG_S), lambda wire: wire.drop_input()], ids=["read", "drop_input"]
)
def test_b4_a_reset_is_a_lost_wire(use: Callable[[SocketWire], object]) -> None:
    with Instrument(lambda line: [(0.0, b"1\n")]) as instrument:
        wire = opened(instrument)
        wire.write(b"?\n")
        assert wire.read(LONG_S) == b"1\n"
        instrument.hang_up(reset=True)
        time.sleep(0.1)  # until the reset has come
        with pytest.raises(WireLost, match=r"failed .*reset"):
            use(wire)
        wire.close()


def test_b5_a_refused_port_is_said_at_once() -> None:
    with pytest.raises(WireLost, match="refuses the connection; is the instrument on"):
        SocketWire("127.0.0.1", _closed_port())


def test_b5_a_host_that_never_accepts_ends_in_time() -> None:
    """A full backlog: the next connection is neither accepted nor refused."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen(0)
        port = listener.getsockname()[1]
        filling = [_begin(port) for _ in range(4)]
        with pytest.raises(WireLost, match="does not answer; is the instrument on"):
            SocketWire("127.0.0.1", port, open_s=0.3)
        for one in filling:
            one.close()


def test_a_name_that_nobody_knows_is_said() -> None:
    """RFC 6761 reserves .invalid: no resolver knows it."""
    with pytest.raises(WireLost, match=r"meter.invalid port 5025 is not known .*; look at the address"):
        SocketWire("meter.invalid", 5025)


def test_b7_a_babbler_cannot_hold_a_read_nor_drop_input() -> None:
    with Instrument(greet=lambda: [(0.02, b"x")] * 500) as instrument:
        wire = opened(instrument)
        assert wire.read(LONG_S)
        wire.drop_input()
        assert wire.read(LONG_S)
        wire.close()


def test_b7_a_flood_is_taken_in_pieces_and_drop_input_gives_up() -> None:
    block = b"x" * 65536
    with Instrument(greet=lambda: [(0.0, block)] * 100_000) as instrument:
        wire = opened(instrument)
        assert all(0 < len(wire.read(LONG_S)) <= len(block) for _ in range(50))
        wire.drop_input()
        assert wire.read(LONG_S)
        wire.close()


def test_b9_an_idle_connection_is_kept_alive() -> None:
    """The options of tcp(7), as this system has them."""
    with Instrument() as instrument:
        wire = opened(instrument)
        assert wire._socket.getsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE) == 1
        for option, value in KEEPALIVE.items():
            if hasattr(socket, option):
                assert wire._socket.getsockopt(socket.IPPROTO_TCP, getattr(socket, option)) == value
        wire.close()


def test_a15_an_instrument_that_takes_no_bytes_ends_the_write() -> None:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        wire = SocketWire("127.0.0.1", listener.getsockname()[1], write_s=0.3)
        with pytest.raises(WireLost, match="does not answer"):
            wire.write(b"x" * 50_000_000)
        wire.close()


def test_silence_is_no_error_and_a_wait_of_nothing_takes_what_is_there() -> None:
    with Instrument(lambda line: [(0.0, b"1\n")]) as instrument:
        wire = opened(instrument)
        assert wire.read(0.05) == b""
        assert wire.read(0.0) == b""
        wire.close()


def test_b8_a_wall_clock_set_back_does_not_stretch_a_wait(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where deadlines hang on the wall clock, a clock set back an hour made a read of 1 s last an hour."""
    with Instrument() as instrument:
        wire = opened(instrument)
        monkeypatch.setattr(time, "time", lambda: time.time_ns() / 1e9 - 3600.0)
        done = threading.Event()

        def read() -> None:
            assert wire.read(0.3) == b""
            done.set()

        reader = threading.Thread(target=read)
        reader.start()
        assert done.wait(LONG_S)
        reader.join()
        wire.close()


def _closed_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port: int = listener.getsockname()[1]
    return port


def _begin(port: int) -> socket.socket:
    one = socket.socket()
    one.setblocking(False)
    one.connect_ex(("127.0.0.1", port))
    return one
