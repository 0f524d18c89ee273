"""Two meters on real wires that show the published counts one after another, once they are told to.

A meter that is asked answers with the next count, each answer exactly one; a handheld sends one frame after
another. Before the record begins and after it has ended both show an overload, which is no number.
"""

import contextlib
import os
import pty
import socket
import threading
import time
import tty
from collections.abc import Iterator, Sequence
from pathlib import Path

from meterlog.simulate import fs9721_frame

OVERLOAD = "+9.90000000E+37"
FRAME_S = 0.02  # a pseudo-terminal knows no baud rate; the true pace would take 41 s


class AskedMeter:
    """SCPI over TCP: answers READ? with the next count in volts."""

    def __init__(self, volts: Sequence[str]) -> None:
        self._left = iter(volts)
        self.begin = threading.Event()
        self.done = threading.Event()
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.address = f"TCPIP::127.0.0.1::{self._listening.getsockname()[1]}::SOCKET"
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                connection, _ = self._listening.accept()
                with connection, connection.makefile("rb") as lines:
                    for line in lines:
                        if answer := self._answer(line.decode().strip().upper()):
                            connection.sendall(answer.encode() + b"\n")

    def _answer(self, command: str) -> str:
        answers = {"*IDN?": "COUNTS,ASKED,1,1.0", "*OPC?": "1", "*ESR?": "0", "SYST:ERR?": '0,"No error"'}
        if command != "READ?":
            return answers.get(command, "1" if command.endswith("?") else "")
        time.sleep(FRAME_S)
        if not self.begin.is_set():
            return OVERLOAD
        count = next(self._left, None)
        if count is None:
            self.done.set()
        return count or OVERLOAD

    def close(self) -> None:
        self._listening.close()


class TalkingMeter:
    """FS9721 frames on a pseudo-terminal, one count a frame."""

    def __init__(self, displays: Sequence[str], link: Path) -> None:
        self._displays = displays
        self.begin = threading.Event()
        self.done = threading.Event()
        self._stop = threading.Event()
        self._meter_end, self._reader_end = pty.openpty()
        tty.setraw(self._meter_end)
        link.symlink_to(os.ttyname(self._reader_end))
        self.address = str(link)
        self._thread = threading.Thread(target=self._talk, daemon=True)
        self._thread.start()

    def _talk(self) -> None:
        for display in self._shown():
            os.write(self._meter_end, fs9721_frame.encode(display, {"volt", "dc"}))
            if self._stop.wait(FRAME_S):
                return

    def _shown(self) -> Iterator[str]:
        while not self.begin.is_set():
            yield fs9721_frame.OVERLOAD
        yield from self._displays
        self.done.set()
        while True:
            yield fs9721_frame.OVERLOAD

    def close(self) -> None:
        self._stop.set()
        self._thread.join()
        os.close(self._meter_end)
        os.close(self._reader_end)
