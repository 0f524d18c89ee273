"""Limits that are watched beside whatever step is run. One reading beyond sounds, a second one trips."""

from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import GuardTripped, Measured
from meterlog.procedure.model import Guard, Procedure
from meterlog.procedure.plan import PlannedStep
from meterlog.procedure.view import Alarm
from meterlog.quantity import Quantity
from meterlog.reading import Reading, State


class GuardWatch:
    """All guards of a procedure. Pure: readings in, trips out."""

    def __init__(self, procedure: Procedure) -> None:
        self._order = {step.id: number for number, step in enumerate(procedure.steps)}
        self._watched = [_Watched(guard) for guard in procedure.guards]

    @property
    def tripped(self) -> bool:
        """Whether a trip waits to be acknowledged."""
        return any(watched.tripped for watched in self._watched)

    @property
    def alarm(self) -> Alarm | None:
        """What sounds now, a trip before a first reading beyond."""
        sounding = [watched for watched in self._watched if watched.alarm]
        return max(sounding, key=lambda watched: watched.tripped).alarm if sounding else None

    def see(self, event: Measured, planned: PlannedStep) -> list[GuardTripped]:
        """A reading of any channel while `planned` is the step at hand."""
        reading = event.reading
        concerned = [one for one in self._watched if one.guard.channel == reading.channel]
        if reading.unfit:  # a held display shows nothing of now
            return []
        armed = [one for one in concerned if self._armed(one.guard, planned)]
        return [_trip(one, event, planned) for one in armed if one.see(reading)]

    def watching(self, planned: PlannedStep) -> tuple[Guard, ...]:
        """The guards that watch this step."""
        return tuple(one.guard for one in self._watched if self._armed(one.guard, planned))

    def begin(self, planned: PlannedStep) -> None:
        """Another step: guards that do not watch it fall silent, a trip stays until it is acknowledged."""
        for watched in self._watched:
            if not watched.tripped and not self._armed(watched.guard, planned):
                watched.clear()

    def acknowledge(self) -> None:
        """IllegalAction as long as a reading is still beyond."""
        for watched in self._watched:
            if watched.tripped and watched.beyond:
                raise IllegalAction(
                    f"{watched.guard.name}: still beyond {watched.limit} in the last reading. "
                    f"{watched.guard.text}"
                )
        for watched in self._watched:
            watched.clear()

    def _armed(self, guard: Guard, planned: PlannedStep) -> bool:
        at = self._order.get(planned.step.id, len(self._order))
        first = self._order[guard.from_step] if guard.from_step else 0
        last = self._order[guard.to_step] if guard.to_step else len(self._order)
        return first <= at <= last


class _Watched:
    """One guard and what its channel showed last."""

    def __init__(self, guard: Guard) -> None:
        self.guard = guard
        self.clear()

    def clear(self) -> None:
        self.beyond = self.tripped = False
        self.limit: Quantity | None = None
        self.alarm: Alarm | None = None

    def see(self, reading: Reading) -> bool:
        """Whether it trips with this reading. One without a number says nothing, and takes nothing back."""
        if reading.value is None and reading.state is not State.OVERLOAD:
            return False
        limit = _passed(self.guard, reading)
        again, self.beyond = self.beyond and limit is not None, limit is not None
        if limit is None:
            if not self.tripped:
                self.clear()
            return False
        trips, self.tripped = again and not self.tripped, self.tripped or again
        self.limit = limit
        self.alarm = Alarm(
            guard=self.guard.name,
            channel=self.guard.channel,
            value=reading.value,
            limit=limit.base,
            text=self.guard.text,
            tripped=self.tripped,
        )
        return trips


def _passed(guard: Guard, reading: Reading) -> Quantity | None:
    """The limit that the reading is beyond. What overloads the range is above every limit."""
    above, below, value = guard.never_above, guard.never_below, reading.value
    if reading.state is State.OVERLOAD:
        return above
    assert value is not None
    if above is not None and value > above.base:
        return above
    return below if below is not None and value < below.base else None


def _trip(watched: _Watched, event: Measured, planned: PlannedStep) -> GuardTripped:
    reading = event.reading
    assert watched.limit is not None
    return GuardTripped(
        guard=watched.guard.name,
        place=planned.place,
        step=planned.step.id,
        pass_=planned.pass_,
        channel=reading.channel,
        value=reading.value,
        limit=watched.limit.base,
        at_ns=event.at_ns,
    )
