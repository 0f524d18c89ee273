"""From the one thread that knows to the many pages that look: bounded, newest first, never blocking it.

A live message tells everything about now, so only the newest one waits for a page, and where no page listens
none is made. All other messages tell something once and wait in order; a page so slow that too many wait is
sent away and reads the record anew.
"""

import asyncio
import threading
from collections import deque
from collections.abc import Callable
from typing import Any

from meterlog.daemon.as_json import dumped

MOST_WAITING = 256


class Page:
    """One connection's share. All but the constructor runs on the event loop."""

    def __init__(self, loop: asyncio.AbstractEventLoop) -> None:
        self.loop = loop
        self.overrun = False
        self.closing = False
        self._waiting: deque[str] = deque()
        self._live: str | None = None
        self._news = asyncio.Event()

    def offer_live(self, text: str) -> None:
        self._live = text
        self._news.set()

    def offer(self, text: str) -> None:
        if len(self._waiting) < MOST_WAITING:
            self._waiting.append(text)
        else:
            self.overrun = True
        self._news.set()

    def close(self) -> None:
        """No more will come."""
        self.closing = True
        self._news.set()

    async def next(self) -> str | None:
        """The next text to send, waiting for one; None when the connection should end."""
        while not self._ready():
            self._news.clear()
            await self._news.wait()
        if self._waiting and not self.overrun:
            return self._waiting.popleft()
        text, self._live = self._live, None
        return None if self.overrun else text

    def _ready(self) -> bool:
        return bool(self._waiting or self._live or self.overrun or self.closing)


class Hub:
    """Knows the pages, and the alarms that a page coming later must still hear."""

    def __init__(self) -> None:
        self.sequence = 0
        self._lock = threading.Lock()
        self._pages: set[Page] = set()
        self._lasting: list[str] = []
        self._closed = False

    def __len__(self) -> int:
        return len(self._pages)

    @property
    def listened(self) -> bool:
        """Whether a page is there. One that comes later asks for what it needs."""
        return bool(self._pages)

    def live(self, make: Callable[[], dict[str, Any]]) -> None:
        """Everything about now, made if anybody listens; gets the next number."""
        if not self.listened:
            return
        self.sequence += 1
        text = dumped({"type": "live", "sequence": self.sequence, **make()})
        with self._lock:
            self._offer(text, live=True)

    def say(self, message: dict[str, Any], *, lasting: bool = False) -> None:
        """Something that is told once; with `lasting` also to every page that comes later."""
        if not (lasting or self.listened):
            return
        text = dumped(message)
        with self._lock:
            if lasting:
                self._lasting.append(text)
            self._offer(text, live=False)

    def forget_lasting(self) -> None:
        with self._lock:
            self._lasting.clear()

    def join(self) -> Page:
        """A page, with the alarms that last. Called on the event loop; whoever makes live messages is to be
        told (`SessionRunner.tell`), so that it need not wait for the next one."""
        page = Page(asyncio.get_running_loop())
        with self._lock:
            for text in self._lasting:
                page.offer(text)
            if self._closed:
                page.close()
            self._pages.add(page)
        return page

    def leave(self, page: Page) -> None:
        with self._lock:
            self._pages.discard(page)

    def close(self) -> None:
        """End every connection, and those to come."""
        with self._lock:
            self._closed = True
            for page in self._pages:
                page.loop.call_soon_threadsafe(page.close)

    def _offer(self, text: str, *, live: bool) -> None:
        for page in self._pages:
            page.loop.call_soon_threadsafe(page.offer_live if live else page.offer, text)
