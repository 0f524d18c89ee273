"""A pseudo-terminal under a name that stays, as a serial adapter has: what a handheld's lead plugs into."""

import contextlib
import os
import pty
import select
import threading
import tty
from pathlib import Path


class Terminal:
    """The meter's end of a line; `link` is the path a reader opens. Every call is safe from any thread."""

    def __init__(self, link: Path) -> None:
        self.link = link
        self._lock = threading.Lock()
        self._meter_end: int | None = None

    @property
    def is_open(self) -> bool:
        return self._meter_end is not None

    def open(self) -> None:
        """A new line under the old name; nothing happens when there is one."""
        with self._lock:
            if self._meter_end is not None:
                return
            meter_end, reader_end = pty.openpty()
            tty.setraw(meter_end)
            os.set_blocking(meter_end, False)
            self._point_to(os.ttyname(reader_end))
            os.close(reader_end)  # from here on "hung up" means that nobody has the line open
            self._meter_end = meter_end

    def close(self) -> None:
        """A reader's next call fails as with a lead pulled out; nothing happens when it is closed."""
        with self._lock:
            if self._meter_end is None:
                return
            self.link.unlink(missing_ok=True)
            os.close(self._meter_end)
            self._meter_end = None

    def send(self, data: bytes) -> None:
        """Never waits: without a reader, or when it sleeps and the line is full, the bytes are gone."""
        with self._lock:
            if self._meter_end is None or not self._has_reader(self._meter_end):
                return
            with contextlib.suppress(OSError):
                os.write(self._meter_end, data)

    def _point_to(self, target: str) -> None:
        """Replace the link in one go, so that a reader never finds half of it."""
        fresh = self.link.with_name(self.link.name + ".new")
        fresh.unlink(missing_ok=True)
        fresh.symlink_to(target)
        fresh.replace(self.link)

    @staticmethod
    def _has_reader(meter_end: int) -> bool:
        poll = select.poll()
        poll.register(meter_end, select.POLLIN)
        events = poll.poll(0)
        if events and events[0][1] & select.POLLIN and not events[0][1] & select.POLLHUP:
            with contextlib.suppress(OSError):
                os.read(meter_end, 4096)  # this meter takes no commands; unread ones would block the far end
        return not (events and events[0][1] & select.POLLHUP)
