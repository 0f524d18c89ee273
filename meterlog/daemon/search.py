"""Looking for instruments on behalf of the page: one line at a time, never one that the bench reads."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cached_property

from meterlog.bench import Bench
from meterlog.bench.find import Finder, Finding, held_by, held_finding, holding, longest_s, recognising
from meterlog.daemon.errors import Refusal
from meterlog.reading import Driver

_KEPT = 64


class Search:
    """Safe from any thread. `doing` is what is being tried, "" while nothing is."""

    def __init__(self) -> None:
        self.doing = ""
        self._busy = threading.Lock()
        self._stop = threading.Event()
        self._found: dict[str, Finding] = {}

    @cached_property
    def drivers(self) -> dict[str, Driver]:
        """Those that can recognise their meters; one that cannot be loaded is left out."""
        return recognising()[0]

    @cached_property
    def longest_s(self) -> float:
        """How long a silent port takes, at most."""
        return longest_s(self.drivers)

    def look(self, bench: Bench, address: str, *, may_ask: bool) -> Finding:
        """Takes as long as a silent port does. Refusal: another look is under way. BenchError: no address."""
        if held := holding(held_by(bench), address):
            return held_finding(address, held)
        with self._alone():
            finder = Finder(self.drivers, may_ask=may_ask, stop=self._stop)
            finding = finder.find(address, self._tell)
        self._found.pop(address, None)
        self._found[address] = finding
        while len(self._found) > _KEPT:
            self._found.pop(next(iter(self._found)))
        return finding

    def found(self, address: str) -> Finding:
        """What the last look there found. Refusal: nobody has looked."""
        try:
            return self._found[address]
        except KeyError:
            raise Refusal(409, "Nobody has looked there yet.", address, "Look first.") from None

    def stop(self) -> None:
        """End the look under way soon, and every later one at once."""
        self._stop.set()

    @contextmanager
    def _alone(self) -> Iterator[None]:
        if not self._busy.acquire(blocking=False):
            raise Refusal(409, "Another line is being looked at.", self.doing, "Wait until that is done.")
        try:
            yield
        finally:
            self.doing = ""
            self._busy.release()

    def _tell(self, text: str) -> None:
        self.doing = text
