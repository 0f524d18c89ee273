"""Answers that tell which question they answer."""

import time
from collections.abc import Callable

from meterlog.testing.wire import Chunks


class Numbered:
    """READ? answered by 1, 2, 3, ...: a value tells which question it answers, and when that one came.

    answer: the chunks for the n-th question, given its number and its usual answer.
    """

    def __init__(
        self, answer: Callable[[int, bytes], Chunks] = lambda number, usual: [(0.01, usual)]
    ) -> None:
        self.came_ns: list[int] = []
        self.answer = answer

    def __call__(self) -> Chunks:
        self.came_ns.append(time.monotonic_ns())
        number = len(self.came_ns)
        return self.answer(number, f"{number:+.8E}\n".encode("ascii"))

    def was_asked(self, value: float | None, at_ns: int) -> bool:
        """Whether the question that `value` answers was sent at at_ns: after the one before it had come."""
        if value is None or value != int(value) or not 1 <= value <= len(self.came_ns):
            return False
        number = int(value)
        return at_ns <= self.came_ns[number - 1] and (number == 1 or at_ns > self.came_ns[number - 2])
