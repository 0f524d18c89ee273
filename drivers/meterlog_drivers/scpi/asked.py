"""A SCPI meter that is asked for each reading, or for a few at once."""

from collections.abc import Sequence

from meterlog.reading import Garbled, Identity, Indication, Nanoseconds
from meterlog_drivers.period import Period
from meterlog_drivers.scpi.conversation import Conversation, Reply
from meterlog_drivers.scpi.decoder import Decoder
from meterlog_drivers.scpi.meter import ScpiMeter
from meterlog_drivers.scpi.plan import Plan


class AskedMeter(ScpiMeter):
    """A meter that answers READ?, or what its dialect has for it."""

    def __init__(
        self, conversation: Conversation, plan: Plan, identity: Identity, monotonic_ns: Nanoseconds
    ) -> None:
        super().__init__(conversation, plan, identity, monotonic_ns)
        self._period = Period(plan.reading_s() * plan.samples)
        displays = dict(enumerate(plan.displays, 1))
        second = plan.dialect.second if len(displays) > 1 else None
        self._second_question = second.question if second else ""
        self._second = Decoder(plan, {2: displays.pop(2)}) if self._second_question else None
        self._decoder = Decoder(plan, displays)

    def _measured(self, wait_s: float) -> Sequence[Indication]:  # noqa: ARG002 - its own deadline counts
        """One question, one indication for each sample and display."""
        if start := self._plan.dialect.asking.start:
            self._conversation.tell(start)
        reply = self._conversation.ask(self._plan.dialect.asking.question, self._patience_s)
        self.period_s = self._period.after(reply.asked_ns)
        shown = self._shown(self._decoder, reply)
        if self._second:
            shown += self._shown(self._second, self._conversation.ask(self._second_question))
        return shown

    def _shown(self, decoder: Decoder, reply: Reply) -> list[Indication]:
        if not reply.content and self._plan.samples == 1:
            return [decoder.blank(reply.answer.raw, reply.asked_ns)]
        return decoder.indications(reply.content, lambda count: self._dates(reply, count))

    def _dates(self, reply: Reply, count: int) -> Sequence[int]:
        """The samples of one question follow each other; one date for all would make them simultaneous."""
        wanted = self._plan.samples
        if count != wanted:
            raise Garbled(f"{wanted} readings were asked for, {count} came: {reply.content[:80]!r}")
        step_ns = (reply.answered_ns - reply.asked_ns) // count
        return [reply.asked_ns + number * step_ns for number in range(count)]
