"""What every SCPI meter of ours does: it is set up, looked after, put back in step, given back."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace

from meterlog.reading import Garbled, Identity, Indication, Nanoseconds, State, WireError
from meterlog_drivers.scpi.care import Care
from meterlog_drivers.scpi.conversation import Conversation
from meterlog_drivers.scpi.panel import Panel
from meterlog_drivers.scpi.plan import Plan
from meterlog_drivers.scpi.setup import Setup, listed

MARGIN_S = 1.0
SWITCHED_ON = "the meter was switched off and on; it has been set up again"
CHANGED = "the meter was changed at its front panel ({}): its numbers were not taken; it is set up again"


class ScpiMeter:
    """See `meterlog.reading.Meter` and `Remarks`; `_measured` is that of the two kinds."""

    def __init__(
        self, conversation: Conversation, plan: Plan, identity: Identity, monotonic_ns: Nanoseconds
    ) -> None:
        self.identity = identity
        self.period_s = self._patience_s = 0.0
        self._conversation = conversation
        self._plan = plan
        self._setup = Setup(conversation, plan)
        self._care = Care(conversation, monotonic_ns)
        self._panel = Panel(conversation, plan)

    def configure(self) -> None:
        """Raises ValueError if the meter refuses a setting, and any WireError."""
        reading_s = self._setup.apply()
        self.period_s = reading_s if self._plan.memory else reading_s * self._plan.samples
        self._patience_s = self.period_s + MARGIN_S
        if unseen := self._panel.settle():
            self._care.remark(unseen)
        self._begin()

    def poll(self, wait_s: float) -> Sequence[Indication]:
        """Readings count once the meter has said that it still is as it was set up. See `Meter.poll`."""
        if self._care.is_due() and self._care.look():
            self._configure_again(SWITCHED_ON)
        shown = self._measured(wait_s)
        if unasked := self._panel.unasked(shown):
            self._care.remark(unasked)
        if not shown or not (changed := self._panel.change()):
            return shown
        self._configure_again(SWITCHED_ON if self._care.switched_on() else CHANGED.format(changed))
        return [replace(one, value=None, state=State.INVALID) for one in shown]

    def remarks(self) -> Sequence[str]:
        """See `meterlog.reading.Remarks`."""
        return self._care.take_remarks()

    def resynchronise(self) -> None:
        """See `Meter.resynchronise`; a meter that lost its settings is set up again."""
        conversation = self._conversation
        conversation.expect(conversation.synchronise(self._patience_s), self.identity)
        errors, switched_on = self._care.trouble()
        # -4xx only says that a question went wrong, which is why we are here.
        troubles = [error for error in errors if not -499 <= error.number <= -400]
        if troubles:
            raise Garbled(f"the meter reports {listed(troubles)}")
        if switched_on:
            self._configure_again(SWITCHED_ON)
        elif changed := self._panel.change():
            self._configure_again(CHANGED.format(changed))
        else:
            self._begin()

    def close(self) -> None:
        """Back to the front panel, where remote was asked for."""
        with suppress(WireError):
            self._setup.give_back()

    def _measured(self, wait_s: float) -> Sequence[Indication]:
        """New readings, as `Meter.poll` gives them; nobody knows yet of what."""
        raise NotImplementedError

    def _begin(self) -> None:
        """What has to be done before the first reading, after any interruption."""

    def _configure_again(self, why: str) -> None:
        self._setup.take()
        try:
            self.configure()
        except ValueError as refusal:
            raise Garbled(f"{why}; but {refusal}") from refusal
        self._care.remark(why)
