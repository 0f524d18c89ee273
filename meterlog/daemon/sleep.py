"""Whether the computer has slept: its monotonic clock stood still, and nobody saw what was done meanwhile."""

from collections.abc import Callable

from meterlog.bench import slept_ns

LEAST_NS = 1_000_000_000


class Sleep:
    """`slept_ns`: all sleep since the computer was started."""

    def __init__(self, slept_ns: Callable[[], int] = slept_ns) -> None:
        self._slept_ns = slept_ns
        self._before_ns = slept_ns()

    def passed_ns(self) -> int:
        """How long it slept since the last call; 0 for less than a second."""
        slept_ns = self._slept_ns() - self._before_ns
        if slept_ns < LEAST_NS:
            return 0
        self._before_ns += slept_ns
        return slept_ns
