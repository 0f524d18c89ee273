"""Meters that speak in lines, as their file describes them: those that talk by themselves and those asked."""

from collections import deque
from collections.abc import Sequence
from contextlib import suppress

from meterlog.reading import Garbled, Identity, Indication, Refused, WrongMeter
from meterlog_drivers.declared.described import Described
from meterlog_drivers.declared.line_cutter import LineCutter
from meterlog_drivers.declared.line_decoder import Decoded, LineDecoder, Selected
from meterlog_drivers.declared.line_model import Ask, Command, Tables
from meterlog_drivers.declared.line_talk import QUIET_S, Talk
from meterlog_drivers.period import Period

SYNCHRONISE_TRIES = 3
REMARKS_KEPT = 30


class LineStream:
    """See `meterlog_drivers.declared.talking.Stream`."""

    def __init__(self, tables: Tables, selected: Selected) -> None:
        self._cutter = LineCutter(tables.receive, begun=False, seven_bits=tables.line.data_bits == 7)
        self._decoder = LineDecoder.of(tables)
        self._selected = selected
        self.bytes_since_good = 0
        self.misfit = ""
        self.misfits = 0

    def feed(self, data: bytes, at_ns: int) -> list[Indication]:
        """The result does not depend on how the stream is cut, save for the dates."""
        self.bytes_since_good += len(data)
        found: list[Indication] = []
        for cut in self._cutter.feed(data, at_ns):
            decoded = self._decoder.decode(cut, self._selected)
            found += decoded.indications
            self.misfit = _complaint(decoded, cut.line)
            self.misfits += bool(self.misfit)
        if found:
            self.bytes_since_good = 0
        return found


def _complaint(decoded: Decoded, line: bytes) -> str:
    if decoded.error:
        return f"the meter reports error {decoded.error}"
    return f"of {line[:60]!r}: {decoded.misfit}" if decoded.misfit else ""


class AskedMeter:
    """See `meterlog.reading.Meter` and `Remarks`."""

    def __init__(
        self,
        talk: Talk,
        described: Described[Tables],
        ask: Ask,
        commands: Sequence[Command],
        selected: Selected,
    ) -> None:
        self._talk = talk
        self._described = described
        self._tables = described.tables
        self._ask = ask
        self._commands = commands
        self._decoder = LineDecoder.of(described.tables)
        self._selected = selected
        self._period = Period(described.tables.head.period)
        self._remarks: deque[str] = deque(maxlen=REMARKS_KEPT)
        self.identity = Identity()
        self.period_s = described.tables.head.period

    def set_up(self) -> None:
        """Find out who answers, then send what starts and selects. Raises any WireError."""
        self.identity = self._described.identity(self._tables.head.name, self._synchronised(QUIET_S))
        for command in self._commands:
            self._talk.tell(command)

    def poll(self, wait_s: float) -> Sequence[Indication]:  # noqa: ARG002 - its own deadline counts
        """Ask once."""
        try:
            cut = self._talk.ask(self._ask.reading)
        except Refused as refusal:
            self._remarks.append(str(refusal))
            raise Garbled(str(refusal)) from refusal
        decoded = self._decoder.decode(cut, self._selected)
        if not decoded.indications:
            self._talk.lose_step()
            complaint = _complaint(decoded, cut.line)
            self._remarks += [complaint] if decoded.error else []
            raise Garbled(complaint)
        self.period_s = self._period.after(cut.at_ns)
        return decoded.indications

    def resynchronise(self) -> None:
        """Without [identify] only silence tells: as long as an answer may take."""
        patience_s = self._talk.patience_s(self._ask.reading)
        more = self._synchronised(QUIET_S if self._tables.identify else patience_s)
        now = self._described.identity(self._tables.head.name, more)
        if now != self.identity:
            self._talk.lose_step()
            raise WrongMeter(f'"{now.text}" answers now; it was "{self.identity.text}"')

    def remarks(self) -> Sequence[str]:
        said = list(self._remarks)
        self._remarks.clear()
        return said

    def close(self) -> None:
        """Send what stops, as far as the meter takes it."""
        with suppress(Exception):  # whatever happens on the line: it may be dead
            self._talk.fall_quiet()
            for command in self._ask.stop:
                self._talk.tell(command)

    def _synchronised(self, quiet_s: float) -> str:
        """What the meter says it is; a late answer shifts the answers by one, then it begins again."""
        identify, answer = self._tables.identify, ""
        for _ in range(SYNCHRONISE_TRIES):
            self._talk.fall_quiet(quiet_s)
            if identify is None:
                return ""
            with suppress(Garbled):
                answer = self._talk.ask(identify.ask).line.decode("latin-1").strip()
            if answer and identify.answer in answer:
                return answer
        self._talk.lose_step()
        raise WrongMeter(
            f'"{answer}" answers; its dialect wants "{identify.answer}" in it' if identify else ""
        )
