"""A meter's end of a serial lead: a pseudo-terminal that can be unplugged.

Parity, speed and the modem lines are not modelled.
"""

import os
import pty
import select
import threading
import time
import tty
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


class Terminal:
    """`path` is what a bench file would name: the port itself, or a link to it that stays over replugging."""

    def __init__(self, link: Path | None = None) -> None:
        self._link = link
        self._meter_end = -1
        self.path = ""
        self.plug()

    def __enter__(self) -> "Terminal":
        return self

    def __exit__(self, *_: object) -> None:
        self.unplug()

    def plug(self) -> None:
        """A new port, under the old name if there is a link."""
        self._meter_end, port_end = pty.openpty()
        tty.setraw(self._meter_end)
        port = os.ttyname(port_end)
        os.close(port_end)
        if self._link is None:
            self.path = port
            return
        self._link.unlink(missing_ok=True)
        self._link.symlink_to(port)
        self.path = str(self._link)

    def unplug(self) -> None:
        """What reads or waits at the other end fails."""
        if self._link is not None:
            self._link.unlink(missing_ok=True)
        # Forgotten before it is closed: who sees the end may plug in again at once, in another thread.
        meter_end, self._meter_end = self._meter_end, -1
        with suppress(OSError):
            os.close(meter_end)

    def send(self, data: bytes) -> None:
        os.write(self._meter_end, data)

    @contextmanager
    def talking(self, data: bytes, every_s: float = 0.05) -> Iterator[None]:
        """Send this again and again, as a meter that needs no question; unplugged, it goes on unheard."""
        stop = threading.Event()

        def talk() -> None:
            while not stop.wait(every_s):
                with suppress(OSError):
                    self.send(data)

        talker = threading.Thread(target=talk)
        talker.start()
        try:
            yield
        finally:
            stop.set()
            talker.join()

    def heard(self, wait_s: float) -> bytes:
        """What the computer has written; b"" if nothing came within wait_s."""
        end_s = time.monotonic() + wait_s
        while (left_s := end_s - time.monotonic()) > 0.0:
            ready, _, _ = select.select([self._meter_end], [], [], left_s)
            with suppress(OSError):  # nobody has the port open yet
                return os.read(self._meter_end, 65536) if ready else b""
            time.sleep(0.01)
        return b""
