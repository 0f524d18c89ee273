"""A driver that does what the test says; nothing waits."""

from collections.abc import Callable, Sequence

from meterlog.reading import Identity, Indication, Line, Maturity, Meter, Nanoseconds, Settings, Wire

Step = Sequence[Indication] | Exception | Callable[[], Sequence[Indication]]
"""What one poll does: gives this, raises this, or gives what this returns."""


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
