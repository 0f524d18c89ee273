"""What a meter says of itself beside its readings: its error queue, and that it was switched on anew.

Asked for rarely, so that it costs no readings: one short question every few seconds, the queue only if the
status byte or the event register says that there is something in it (IEEE 488.2, 11.2 and 11.5.1; bit 2 of
the status byte is that of SCPI-1999 volume 1, 9).
"""

from collections import deque
from collections.abc import Sequence

from meterlog.reading import Nanoseconds, Unanswered
from meterlog_drivers.scpi.answers import ERROR_EVENTS, DeviceError, errors_of_events
from meterlog_drivers.scpi.conversation import Conversation

EVERY_S = 5.0
REMARKS_KEPT = 40
POWER_ON = 1 << 7
"""Bit 7 of the standard event status register."""
QUEUE_NOT_EMPTY = 1 << 2
NO_STATUS = "the meter does not tell its status; what goes wrong in it will not be told here"


class Care:
    """The state of one meter, and the remarks that came of it."""

    def __init__(self, conversation: Conversation, monotonic_ns: Nanoseconds) -> None:
        self._conversation = conversation
        self._monotonic_ns = monotonic_ns
        self._remarks: deque[str] = deque(maxlen=REMARKS_KEPT)
        self._looked_ns = monotonic_ns()
        self._answers = True

    def remark(self, text: str) -> None:
        """To be told with the next remarks; of too many the oldest are lost."""
        self._remarks.append(text)

    def take_remarks(self) -> Sequence[str]:
        """Those since the last call."""
        remarks = list(self._remarks)
        self._remarks.clear()
        return remarks

    def is_due(self) -> bool:
        """Whether it is time to look again."""
        return self._answers and self._monotonic_ns() - self._looked_ns >= EVERY_S * 1e9

    def look(self) -> bool:
        """Errors become remarks; true if the meter has been switched on since. Any WireError.

        A meter that does not answer is not asked again, or its readings would stop every few seconds.
        """
        self._looked_ns = self._monotonic_ns()
        try:
            events = self._conversation.events()
            tells = events & ERROR_EVENTS or self._conversation.status_byte() & QUEUE_NOT_EMPTY
        except Unanswered:
            self._answers = False
            self.remark(NO_STATUS)
            raise
        for error in self._errors(events) if tells else ():
            self.remark(f"the meter reports {error}")
        return bool(events & POWER_ON)

    def switched_on(self) -> bool:
        """Whether it has been since the last look; false of a meter that does not tell. As `look`."""
        return self._answers and self.look()

    def trouble(self) -> tuple[list[DeviceError], bool]:
        """The errors that wait, whatever the status says, and whether the meter has been switched on."""
        self._looked_ns = self._monotonic_ns()
        events = self._conversation.events()
        return self._errors(events), bool(events & POWER_ON)

    def _errors(self, events: int) -> list[DeviceError]:
        """One by one where there is a queue, else the kinds of them."""
        return self._conversation.read_errors() if self._conversation.has_queue else errors_of_events(events)
