"""What comes to the session's thread, from every other thread, in one order."""

import queue
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from meterlog.bench import LinkStatus
from meterlog.daemon.errors import Refusal
from meterlog.daemon.source_keeper import SourceNews
from meterlog.reading import Reading

_LOOK_S = 1.0


@dataclass(frozen=True, slots=True)
class Ask:
    """Something to be done on the session's thread, for another thread that waits for the answer."""

    call: Callable[[], Any]
    answer: "Future[Any]" = field(default_factory=Future)

    def do(self) -> None:
        try:
            self.answer.set_result(self.call())
        except Exception as error:  # noqa: BLE001 - handed to the thread that asked, which raises it
            self.answer.set_exception(error)

    def refuse(self, refusal: Refusal) -> None:
        self.answer.set_exception(refusal)

    def answered(self) -> bool:
        """Wait a while for the answer."""
        try:
            self.answer.exception(timeout=_LOOK_S)
        except TimeoutError:
            return False
        return True


Item: TypeAlias = Reading | LinkStatus | SourceNews | Ask


class Inbox:
    """Items are taken by one thread. What it cannot deal with yet it keeps back, and gets first next time."""

    def __init__(self) -> None:
        self._queue: queue.SimpleQueue[Item] = queue.SimpleQueue()
        self._kept_back: list[Item] = []

    def put(self, item: Item) -> None:
        self._queue.put(item)

    def ask(self, call: Callable[[], Any], alive: Callable[[], bool]) -> Any:
        """The answer of the session's thread, or its error. Refusal 503 if it is no longer `alive`."""
        ask = Ask(call)
        self.put(ask)
        while not ask.answered():
            if not alive():
                raise Refusal(503, "The daemon is stopping.", do="Start it again with: meterlog serve")
        return ask.answer.result()

    @property
    def empty(self) -> bool:
        return not self._kept_back and self._queue.empty()

    def next(self, wait_s: float) -> Item | None:
        """The oldest item; None if none came within the time."""
        return self._kept_back.pop(0) if self._kept_back else self.newly(wait_s)

    def newly(self, wait_s: float) -> Item | None:
        """As `next`, passing over what was kept back."""
        try:
            return self._queue.get(timeout=wait_s)
        except queue.Empty:
            return None

    def keep_back(self, item: Item) -> None:
        self._kept_back.append(item)
