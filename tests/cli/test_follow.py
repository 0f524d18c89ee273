"""The terminal view as a whole: a real daemon, a real pseudo-terminal, keys in and a picture out."""

import fcntl
import os
import pty
import select
import struct
import subprocess
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from meterlog.daemon.client import Client
from meterlog.procedure.events import GUIDED_BY_THE_RULE
from tests.daemon.desk import PATIENCE_S
from tests.daemon.process import COMMAND, environment, served

pytestmark = pytest.mark.slow


class Screen:
    """The near end of the terminal: what was drawn so far, and the keys."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self.drawn = ""

    def type(self, keys: str) -> None:
        os.write(self._descriptor, keys.encode())

    def until(self, words: str) -> None:
        """Go on reading until the words are drawn after now."""
        begun = len(self.drawn)
        end_s = time.monotonic() + PATIENCE_S
        while words not in self.drawn[begun:]:
            assert time.monotonic() < end_s, f"{words!r} not in {self.drawn[-3000:]}"
            if select.select([self._descriptor], [], [], 0.5)[0]:
                self.drawn += os.read(self._descriptor, 65536).decode(errors="replace")


@contextmanager
def following(
    data: Path, rows: int = 40, columns: int = 100
) -> Iterator[tuple[Screen, subprocess.Popen[bytes]]]:
    far, near = pty.openpty()
    fcntl.ioctl(near, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
    process = subprocess.Popen(
        [*COMMAND, "follow", "--data", str(data)],
        stdin=near,
        stdout=near,
        stderr=near,
        env=environment() | {"TERM": "xterm"},
    )
    try:
        yield Screen(far), process
    finally:
        process.kill()
        process.wait()
        os.close(near)
        os.close(far)


def test_a_session_is_worked_by_keys_alone(tmp_path: Path) -> None:
    with (
        served(tmp_path) as daemon,
        Client(daemon.data) as client,
        following(daemon.data) as (screen, process),
    ):
        screen.until("meterlog start")
        number = client.begin("two", "Recorder", "17", "me")
        screen.until("Warm up")
        screen.type("n")
        screen.until("note, reason or text")
        screen.type("hum\n")
        screen.until("note: accepted")
        screen.type("s")
        screen.until("skip, reason or text")
        screen.type("no meter\n")
        screen.until("Play the tone.")
        screen.type("\x1b[6~")
        screen.until("go-on: accepted")
        actions = client.get(f"/api/sessions/{number}")["actions"]
        assert [(act["kind"], act["text"]) for act in actions] == [
            ("start", GUIDED_BY_THE_RULE),
            ("note", "hum"),
            ("skip", "no meter"),
            ("go-on", ""),
        ]
        screen.type("q")
        assert process.wait(PATIENCE_S) == 0
        assert client.get("/api/status")["session"] == number, "leaving the view leaves the session alone"


POINTER = """
[procedure]
title = "Pointer"
revision = "1"
unit = "Any"
[[channel]]
name = "output"
unit = "V"
coupling = "ac"
[[step]]
id = "pointer"
title = "Pointer"
pattern = "manual"
show = "dBu"
uncertainty = "0.1 dB"
[[step]]
id = "level"
title = "Level"
pattern = "derived"
kind = "gain"
channel = "output"
against = "pointer"
settle = "0.1 dB"
[[step]]
id = "sign"
title = "Signature"
pattern = "sign"
"""


def test_a_reading_is_typed_in_and_a_bad_one_refused(tmp_path: Path) -> None:
    (tmp_path / "procedures").mkdir()
    (tmp_path / "procedures" / "pointer.toml").write_text(POINTER)
    with (
        served(tmp_path) as daemon,
        Client(daemon.data) as client,
        following(daemon.data) as (screen, _),
    ):
        screen.until("meterlog start")
        number = client.begin("pointer", "Recorder", "17", "me")
        screen.until("then the reading in dBu")
        screen.type("e")
        screen.until("reading in dBu:")
        screen.type("5 ohm\n")
        screen.until("write the number and dBu")
        screen.type("e3.9\n")
        screen.until("stored: +3.90")
        (settled,) = client.get(f"/api/sessions/{number}")["settled"]
        assert (settled["role"], settled["channel"]) == ("entered", "")
        screen.type("s")
        screen.until("skip, reason or text")
        screen.type("no meter\n")
        screen.until("then the name")
        screen.type("eM. Tern\n")
        screen.until("Close the session")
        assert client.get(f"/api/sessions/{number}")["endings"][-1]["reason"] == "signed by M. Tern"


def test_a_daemon_that_ends_is_told_at_once_and_found_again(tmp_path: Path) -> None:
    with served(tmp_path) as daemon, following(daemon.data) as (screen, _):
        screen.until("meterlog start")
        daemon.process.terminate()
        screen.until("NO LINK")
        daemon.end()
        with served(tmp_path), Client(daemon.data) as client:
            client.begin("two", "Recorder", "17", "me")
            screen.until("Warm up")


def test_a_session_set_aside_and_one_broken_off_say_what_comes_next(tmp_path: Path) -> None:
    """In the lowest common terminal, 24 lines of 80."""
    with (
        served(tmp_path) as daemon,
        Client(daemon.data) as client,
        following(daemon.data, 24, 80) as (screen, _),
    ):
        screen.until("meterlog start")
        number = client.begin("two", "Recorder", "17", "me")
        screen.until("Warm up")
        screen.type("enan q\n")
        screen.until("'nan q' was not taken")
        screen.type("a")
        screen.until("set-aside, reason or text")
        screen.type("part missing\n")
        screen.until(f"meterlog resume {number}")
        assert "set aside: part missing" in screen.drawn
        client.go_on_with(number)
        screen.until("Warm up")
        screen.type("b")
        screen.until("break-off, reason or text")
        screen.type("no part\n")
        screen.until(f"meterlog report {number}")
        assert "broken off: no part" in screen.drawn
        kinds = [act["kind"] for act in client.get(f"/api/sessions/{number}")["actions"]]
        assert kinds == ["start", "set-aside", "interrupted", "break-off"], "no letter has acted"
