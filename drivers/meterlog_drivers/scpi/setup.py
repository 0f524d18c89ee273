"""A SCPI meter is set up: each setting sent, and the error queue asked whether it was taken."""

import logging
from collections.abc import Callable, Sequence

from meterlog_drivers.scpi.answers import DeviceError
from meterlog_drivers.scpi.conversation import Conversation
from meterlog_drivers.scpi.dialect_tables import AcFilter
from meterlog_drivers.scpi.plan import Plan, filled

log = logging.getLogger(__name__)


class Setup:
    """What one meter is told each time it is connected or was switched on again."""

    def __init__(self, conversation: Conversation, plan: Plan) -> None:
        self._conversation = conversation
        self._plan = plan
        self._ac_filter: AcFilter | None = None
        self._remote = plan.remote

    def take(self) -> None:
        """From the front panel, for meters that obey nothing else before."""
        if self._remote and (command := self._plan.dialect.remote.on):
            self._conversation.tell(command)

    def give_back(self) -> None:
        """To the front panel, if it was taken."""
        if self._remote and (command := self._plan.dialect.remote.off):
            self._conversation.tell(command)

    def apply(self) -> float:
        """The seconds that a reading takes then. ValueError if the meter refuses a setting; any WireError."""
        plan = self._plan
        for command in plan.configure:
            self.set(command)
        if plan.ac_filter_hz is not None:
            self._set_ac_filter(plan.ac_filter_hz)
        if plan.memory is None and plan.samples > 1:
            self.set(filled(plan.dialect.asking.samples, count=plan.samples))
        for command in plan.settle:
            self.set(command)
        return plan.reading_s(self._ac_filter)

    def set(self, command: str) -> None:
        """One setting. ValueError: the meter's own words; one that wants remote first is given that."""
        errors = self.send(command)
        if not self._remote and any(one.number in self._plan.dialect.remote.refusals for one in errors):
            log.info("%s is refused at the front panel; taking the meter to remote", command)
            self._remote = True
            self.take()
            errors = self.send(command)
        self._refuse(command, errors)

    def send(self, command: str) -> list[DeviceError]:
        """What the meter says against it."""
        self._conversation.tell(command)
        return self._conversation.read_errors()

    def _refuse(self, command: str, errors: Sequence[DeviceError]) -> None:
        if not errors:
            return
        hint = "; on a serial line, does it need the option remote?" if errors[0].number > 0 else ""
        raise ValueError(f"the meter refused {command}: {listed(errors)}{hint}")

    def _set_ac_filter(self, wanted_hz: float) -> None:
        dialect, header = self._plan.dialect, self._plan.function.header
        candidates = dialect.ac_filter if self._ac_filter is None else (self._ac_filter,)
        self._ac_filter = choose_ac_filter(self.send, candidates, header, wanted_hz, dialect.errors.unknown)


def choose_ac_filter(
    send: Callable[[str], list[DeviceError]],
    candidates: Sequence[AcFilter],
    header: str,
    wanted_hz: float,
    unknown: Sequence[int],
) -> AcFilter:
    """The first filter command that the instrument knows, sent. ValueError: it knows none, or refuses."""
    for candidate in candidates:
        if min(candidate.steps_hz) > wanted_hz:
            continue
        command = filled(candidate.command, header=header, hz=candidate.step_hz(wanted_hz))
        errors = send(command)
        if not errors:
            return candidate
        if not any(error.number in unknown for error in errors):
            raise ValueError(f"the meter refused {command}: {listed(errors)}")
    raise ValueError(f"the meter knows no command for its AC filter at {header}: remove ac_filter")


def listed(errors: Sequence[DeviceError]) -> str:
    """For a message."""
    return ", ".join(str(error) for error in errors)
