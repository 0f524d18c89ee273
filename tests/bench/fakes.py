"""A clock, a wire and a driver that exist only in the test; nothing waits."""

from collections.abc import Callable, Sequence

from meterlog.reading import Identity, Indication, Line, Maturity, Meter, Nanoseconds, Settings, Wire

Step = Sequence[Indication] | Exception | Callable[[], Sequence[Indication]]
"""What one poll does: gives this, raises this, or gives what this returns."""


class FakeClock:
    """Moves when told. utc_offset_ns may be changed to step the wall clock."""

    def __init__(self) -> None:
        self.now_ns = 1_000_000_000
        self.utc_offset_ns = 1_700_000_000_000_000_000

    def monotonic_ns(self) -> int:
        return self.now_ns

    def utc_ns(self) -> int:
        return self.now_ns + self.utc_offset_ns

    def pass_s(self, seconds: float) -> None:
        self.now_ns += round(seconds * 1e9)


class FakeWire:
    """Silent; counts how often it is closed."""

    def __init__(self) -> None:
        self.closed = 0

    def read(self, wait_s: float) -> bytes:
        return b""

    def write(self, data: bytes) -> None:
        pass

    def drop_input(self) -> None:
        pass

    def close(self) -> None:
        self.closed += 1


class ScriptedMeter:
    """Does one step of the script for each poll; when all are done it calls `done` and gives nothing."""

    period_s = 0.4

    def __init__(self, steps: Sequence[Step], done: Callable[[], None], identity: str) -> None:
        self.identity = Identity(text=identity)
        self.resynchronised = 0
        self.closed = 0
        self._steps = list(steps)
        self._done = done

    def poll(self, wait_s: float) -> Sequence[Indication]:
        if not self._steps:
            self._done()
            return ()
        step = self._steps.pop(0)
        if isinstance(step, Exception):
            raise step
        return step() if callable(step) else step

    def resynchronise(self) -> None:
        self.resynchronised += 1

    def close(self) -> None:
        self.closed += 1


class ScriptedDriver:
    """One connection after another; an exception in the plan is a failed connect."""

    name = "scripted"
    summary = "does what the test says"
    maturity = Maturity.VECTORS
    line = Line()

    def __init__(self, *plan: Sequence[Step] | Exception, identities: Sequence[str] = ("A",)) -> None:
        self.meters: list[ScriptedMeter] = []
        self.settings: list[Settings] = []
        self.kind = ScriptedMeter
        self.finished: Callable[[], None] = lambda: None
        self._plan = list(plan)
        self._identities = list(identities)

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        self.settings.append(settings)
        what = self._plan.pop(0)
        identity = self._identities.pop(0) if len(self._identities) > 1 else self._identities[0]
        if isinstance(what, Exception):
            raise what
        done = (lambda: None) if self._plan else self.finished
        self.meters.append(self.kind(what, done, identity))
        return self.meters[-1]
