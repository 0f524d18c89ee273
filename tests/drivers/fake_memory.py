"""A SCPI meter that measures by itself into a memory, after what manuals say of them.

Reading number n, counted from 1 over all starts, has the value n: what is lost or doubled is seen.
"""

from collections.abc import Callable

from meterlog.testing import Chunks
from tests.drivers.fake_meter import FakeMeter


class FakeMemory(FakeMeter):
    """interval_s: from one reading to the next; holds: readings kept before the oldest are overwritten.

    While it measures without end *OPC? is not answered: IEEE 488.2 (from memory).

    empty   what R? gives where nothing is there; None: an error and silence
    ends    how many readings one start gives
    """

    def __init__(
        self,
        monotonic_ns: Callable[[], int],
        interval_s: float = 0.02,
        *,
        holds: int = 10_000,
        empty: bytes | None = b"#10\n",
        ends: float = float("inf"),
        bit: int = 14,
    ) -> None:
        super().__init__()
        self.known = [*self.known, "ABOR", "TRIG:", ":TRIG:", "SAMP:", ":SAMP:"]
        self.interval_s, self.ends = interval_s, ends
        self.began_ns: list[int] = []
        self.transfer_s = 0.002
        self._monotonic_ns = monotonic_ns
        self._holds, self._empty, self._bit = holds, empty, bit
        self._started_ns: int | None = None
        self._taken = self._made = 0
        self._kept: list[int] = []
        self._overflowed = False

    def stop(self) -> None:
        """By hand: what it held is gone."""
        self._started_ns, self._kept = None, []

    def __call__(self, line: bytes) -> Chunks:
        question, _, most = line.decode("ascii").strip().partition(" ")
        self._measure()
        if question == "R?":
            self.heard.append(line.decode("ascii").strip())
            return self._fetch(int(most) if most else len(self._kept))
        if question == "DATA:REM?":
            self.heard.append(line.decode("ascii").strip())
            return self._remove(int(most))
        return super().__call__(line)

    def _answer(self, command: str) -> str | None:
        if command == "*OPC?" and self._started_ns is not None and self.ends == float("inf"):
            return None
        if command == "DATA:POIN?" and command not in self.untold:
            return f"+{len(self._kept)}"
        if command == "STAT:QUES?":
            flag, self._overflowed = self._overflowed << self._bit, False
            return str(flag)
        return super()._answer(command)

    def _obey(self, command: str) -> None:
        if command in ("INIT", ":INIT"):
            self._started_ns, self._taken, self._kept = self._monotonic_ns(), 0, []
        elif command == "ABOR":
            self._started_ns = None
        elif command.endswith("SAMP:COUN") or command.startswith("SAMP:COUN "):
            self.ends = float(command.split()[1])
        else:
            super()._obey(command)

    def _measure(self) -> None:
        """All that would have been measured by now."""
        if self._started_ns is None:
            return
        done = min(self.ends, (self._monotonic_ns() - self._started_ns) // round(self.interval_s * 1e9))
        while self._taken < done:
            self.began_ns.append(self._started_ns + self._taken * round(self.interval_s * 1e9))
            self._taken += 1
            self._made += 1
            self._kept.append(self._made)
        self._overflowed = self._overflowed or len(self._kept) > self._holds
        self._kept = self._kept[-self._holds :]

    def _fetch(self, most: int) -> Chunks:
        given, self._kept = self._kept[:most], self._kept[most:]
        if not given and self._empty is None:
            self.errors.append('-230,"Data corrupt or stale"')
            return ()
        return [(self.transfer_s, _block(given))]

    def _remove(self, count: int) -> Chunks:
        if count > len(self._kept):
            self.errors.append('-222,"Data out of range"')
            return ()
        return self._fetch(count)


def _block(values: list[int]) -> bytes:
    """A definite block of NR3 numbers: IEEE 488.2, 8.7.9."""
    text = ",".join(f"{value:+.8E}" for value in values)
    return f"#{len(str(len(text)))}{len(text)}{text}\n".encode("ascii")
