"""One SCPI meter: set up, read by READ?, put back in step after a failure."""

from collections.abc import Callable, Sequence
from contextlib import suppress

from meterlog.reading import Garbled, Identity, Indication, State, WireError
from meterlog_drivers.period import Period
from meterlog_drivers.scpi.answers import (
    DeviceError,
    Element,
    measured,
    parse_elements,
    parse_integer,
    parse_reals,
)
from meterlog_drivers.scpi.conversation import Conversation, Reply
from meterlog_drivers.scpi.dialect import AC_FILTERS, SUFFIX_MEANINGS, UNKNOWN_HEADER, AcFilter
from meterlog_drivers.scpi.form import OwnForm
from meterlog_drivers.scpi.plan import Plan

MARGIN_S = 1.0
POWER_ON = 1 << 7
"""Bit 7 of the standard event status register (IEEE 488.2, 11.5.1)."""


class AskedMeter:
    """A meter that answers READ?."""

    def __init__(self, conversation: Conversation, plan: Plan, identity: Identity) -> None:
        self.identity = identity
        self.period_s = plan.reading_s * plan.samples
        self._conversation = conversation
        self._plan = plan
        self._patience_s = plan.reading_s * plan.samples + MARGIN_S
        self._period = Period(self.period_s)
        self._ac_filter: AcFilter | None = None
        self._form = OwnForm()

    def configure(self) -> None:
        """Raises ValueError if the meter refuses a setting, and any WireError."""
        plan = self._plan
        self._set(plan.configure)
        if plan.ac_filter_hz is not None:
            self._set_ac_filter(plan.ac_filter_hz)
        if plan.samples > 1:
            self._set(f"SAMP:COUN {plan.samples}")
        for command in plan.format.commands:
            self._set(command)

    def poll(self, wait_s: float) -> Sequence[Indication]:  # noqa: ARG002 - its own deadline counts
        """One READ?, one indication for each sample. See `Meter.poll`."""
        reply = self._conversation.ask("READ?", self._patience_s)
        elements = self._readings(reply)
        self.period_s = self._period.after(reply.asked_ns)
        # The samples of one READ? follow each other; one date for all would make them simultaneous.
        step_ns = (reply.answered_ns - reply.asked_ns) // len(elements)
        return [self._indication(e, reply.asked_ns + k * step_ns) for k, e in enumerate(elements)]

    def resynchronise(self) -> None:
        """See `Meter.resynchronise`; a meter that was switched off and on is set up again."""
        conversation = self._conversation
        conversation.expect(conversation.synchronise(self._patience_s), self.identity)
        events = parse_integer(conversation.ask("*ESR?").content)
        # -4xx only says that a question went wrong, which is why we are here.
        troubles = [error for error in conversation.read_errors() if not -499 <= error.number <= -400]
        if troubles:
            raise Garbled(f"the meter reports {_listed(troubles)}")
        if events & POWER_ON:
            self._configure_again()

    def close(self) -> None:
        """Back to the front panel, where remote was asked for."""
        if self._plan.remote:
            with suppress(WireError):
                self._conversation.tell("SYST:LOC")

    def _configure_again(self) -> None:
        take(self._conversation, self._plan)
        try:
            self.configure()
        except ValueError as refusal:
            raise Garbled(f"after it was switched on again {refusal}") from refusal

    def _readings(self, reply: Reply) -> list[Element]:
        elements = self._elements(reply)
        if not elements and self._plan.samples == 1:
            return [Element(None, State.BLANK, reply.answer.raw)]
        if len(elements) != self._plan.samples:
            raise Garbled(
                f"{self._plan.samples} readings were asked for, {len(elements)} came: {reply.content[:80]!r}"
            )
        return elements

    def _elements(self, reply: Reply) -> list[Element]:
        plan = self._plan
        if plan.format.layout:
            return parse_reals(reply.content, plan.format.layout, plan.overload)
        elements = measured(parse_elements(reply.content, plan.overload))
        for element in elements:
            self._form.check(element)
        return elements

    def _indication(self, element: Element, at_ns: int) -> Indication:
        plan = self._plan
        usual = (plan.function.unit, plan.function.coupling)
        unit, coupling = SUFFIX_MEANINGS.get(element.suffix, usual)
        return Indication(
            monotonic_ns=at_ns,
            value=element.value,
            unit=unit,
            state=element.state,
            coupling=coupling,
            resolution=plan.resolution or element.count,
            range_max=plan.range_max,
            function=plan.function.name,
            raw=element.raw,
        )

    def _set(self, command: str) -> None:
        _refuse(command, self._send(command))

    def _send(self, command: str) -> list[DeviceError]:
        self._conversation.tell(command)
        return self._conversation.read_errors()

    def _set_ac_filter(self, wanted_hz: float) -> None:
        header = self._plan.function.header
        candidates = AC_FILTERS if self._ac_filter is None else (self._ac_filter,)
        self._ac_filter = choose_ac_filter(self._send, candidates, header, wanted_hz)


def take(conversation: Conversation, plan: Plan) -> None:
    """From the front panel, for meters that obey nothing else before."""
    if plan.remote:
        conversation.tell("SYST:REM")


def choose_ac_filter(
    send: Callable[[str], list[DeviceError]], candidates: Sequence[AcFilter], header: str, wanted_hz: float
) -> AcFilter:
    """The first filter command that the instrument knows, sent. ValueError: it knows none, or refuses."""
    for candidate in candidates:
        command = f"{candidate.command.format(header=header)} {candidate.step_hz(wanted_hz):G}"
        errors = send(command)
        if not any(error.number in UNKNOWN_HEADER for error in errors):
            _refuse(command, errors)
            return candidate
    raise ValueError(f"the meter knows no command for its AC filter at {header}: remove ac_filter")


def _refuse(command: str, errors: Sequence[DeviceError]) -> None:
    if errors:
        hint = "; on a serial line, does it need the option remote?" if errors[0].number > 0 else ""
        raise ValueError(f"the meter refused {command}: {_listed(errors)}{hint}")


def _listed(errors: Sequence[DeviceError]) -> str:
    return ", ".join(str(error) for error in errors)
