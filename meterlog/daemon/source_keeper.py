"""Has the bench's source set for the step that asks for it, on a thread of its own, and tells how it went.

The session is told twice, both kept in its record: asked, then set or failed. So a replay needs no source.
"""

import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass

from meterlog.bench import DrivenSource, SourceError
from meterlog.procedure import ActionKind, SourceSetting

STOP_S = 10.0


@dataclass(frozen=True, slots=True)
class SourceNews:
    """The answer to question `number`: SOURCE_SET with what is read back, or SOURCE_FAILED with why."""

    number: int
    kind: ActionKind
    text: str


class SourceKeeper:
    """`ask` and `awaited` belong to the session's thread; `deliver` is called from the keeper's own."""

    def __init__(self, source: DrivenSource, deliver: Callable[[SourceNews], None]) -> None:
        self._source = source
        self._deliver = deliver
        self._asked: queue.SimpleQueue[tuple[int, SourceSetting] | None] = queue.SimpleQueue()
        self._number = 0
        self._thread = threading.Thread(target=self._run, name=f"source {source.name}", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """The tone stays as it is: who works on the unit may need it."""
        self._number += 1
        self._asked.put(None)
        self._thread.join(STOP_S)

    def ask(self, wanted: SourceSetting) -> str:
        """Returns at once; what is asked for, as text."""
        self._number += 1
        self._asked.put((self._number, wanted))
        return _text(wanted)

    def awaited(self, news: SourceNews) -> bool:
        """Whether it answers the last question: the session may have gone on since another."""
        return news.number == self._number

    def _run(self) -> None:
        while (asked := self._asked.get()) is not None:
            number, wanted = asked
            if number == self._number:  # one that has been overtaken is not set any more
                self._deliver(self._set(number, wanted))
        self._source.close()

    def _set(self, number: int, wanted: SourceSetting) -> SourceNews:
        try:
            text = self._source.set(wanted.frequency_hz, wanted.level_v)
        except SourceError as error:
            return SourceNews(number, ActionKind.SOURCE_FAILED, str(error))
        return SourceNews(number, ActionKind.SOURCE_SET, text)


def _text(wanted: SourceSetting) -> str:
    numbers = [
        f"{number:.6g} {unit}"
        for number, unit in ((wanted.frequency_hz, "Hz"), (wanted.level_v, "V"))
        if number is not None
    ]
    return f"{', '.join(numbers)} for {wanted.purpose}"
