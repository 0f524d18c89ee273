"""A recorded session with its procedure and its bench: what a report or an export is made of."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, tzinfo

from meterlog.procedure import Measured, Procedure, SettledValue, Step
from meterlog.procedure.model import Adjust, Alternate, Condition, Measure, SetSource, Threshold
from meterlog.quantity import Quantity, Scale, Unit, base_scale
from meterlog.records.issued import IssuedReport
from meterlog.records.session import Commission, Instrument, SessionHeader
from meterlog.report.bench_text import BenchText
from meterlog.report.standing import Course

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

Readings = Callable[[str | None, int | None, int | None], Iterator[Measured]]
"""The raw readings of a channel (None: of all) with from_ns <= at_ns < to_ns (None: no limit), in order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """Moments named `at_ns` lie on the session's own time line, from its beginning.

    bench    that of the beginning; benches: all, each with the event from which it was used
    zone     the time zone of the report; None is that of this machine
    results_digest: what ties a report to the record
    issued   every report of the record that was handed over, of any session
    """

    header: SessionHeader
    instruments: Sequence[Instrument]
    procedure: Procedure
    bench: BenchText
    course: Course
    readings: Readings
    benches: Sequence[tuple[int, BenchText]] = ()
    zone: tzinfo | None = None
    results_digest: str = ""
    commission: Commission = field(default_factory=Commission)
    issued: Sequence[IssuedReport] = ()

    def bench_at(self, sequence: int) -> BenchText:
        """The bench in use at an event: a session may have been gone on with on another one."""
        return next((b for since, b in reversed(self.benches) if since <= sequence), self.bench)

    def time(self, at_ns: int) -> datetime:
        """Local time with its offset. Counted from the beginning, so a clock set meanwhile moves nothing."""
        return local_time(self.header.began_time_ns + at_ns, self.zone)

    def step(self, identifier: str) -> Step:
        return self.procedure.step(identifier)

    def scale(self, value: SettledValue) -> Scale:
        """What this value is shown in: one that no channel gave as its step says."""
        step = self.step(value.step)
        if not value.channel and step.own_scale is not None:
            return step.own_scale
        return self.channel_scale(value.channel, value.unit, step)

    def channel_scale(self, channel: str, unit: Unit, step: Step | None = None) -> Scale:
        """The procedure's scale for the channel, else that of the step's target, else the bench's."""
        stated = [c.show for c in self.procedure.channels if c.name == channel]
        parts = [] if step is None else aiming_parts(step)
        levels = [part.target for part in parts if part.channel == channel]
        aimed = [target.scale for target in levels if isinstance(target, Quantity)]
        for scale in (*stated, *aimed, self.bench.shows.get(channel)):
            if scale is not None and scale.unit is unit:
                return scale
        return base_scale(unit)


Aiming = Adjust | Condition | Measure | SetSource | Threshold
"""The parts of a procedure that may state a target."""


def aiming_parts(step: Step) -> list[Aiming]:
    """The conditions of an alternate step; of others the step itself, if it can state a target."""
    if isinstance(step, Alternate):
        return [*step.condition]
    return [step] if isinstance(step, Aiming) else []


def local_time(time_ns: int, zone: tzinfo | None) -> datetime:
    """A UTC time in ns as local time with its offset, whole microseconds."""
    return (_EPOCH + timedelta(microseconds=time_ns // 1000)).astimezone(zone)
