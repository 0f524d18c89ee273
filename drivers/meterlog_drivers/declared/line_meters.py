"""Meters that speak in lines, as their file describes them: those that talk by themselves and those asked."""

from collections import deque
from collections.abc import Sequence
from contextlib import suppress

from meterlog.reading import Garbled, Identity, Indication, Nanoseconds, Refused, Wire, WrongMeter
from meterlog_drivers.declared.line_decoder import Decoded, LineDecoder, Selected
from meterlog_drivers.declared.line_model import Ask, Tables
from meterlog_drivers.declared.line_plan import Plan
from meterlog_drivers.declared.line_talk import Talk
from meterlog_drivers.period import Period

SYNCHRONISE_TRIES = 3
REMARKS_KEPT = 30


class LineStream:
    """See `meterlog_drivers.talking.Stream`."""

    def __init__(self, tables: Tables, selected: Selected) -> None:
        self._decoder = LineDecoder.of(tables)
        self._cutter = self._decoder.cutter(begun=False)
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

    def __init__(self, wire: Wire, plan: Plan, ask: Ask, monotonic_ns: Nanoseconds) -> None:
        self._decoder = LineDecoder.of(plan.tables)
        self._talk = Talk(wire, self._decoder, ask, monotonic_ns)
        self._monotonic_ns = monotonic_ns
        self._plan = plan
        self._ask = ask
        self._due_ns = 0
        self._period = Period(plan.tables.head.period)
        self._remarks: deque[str] = deque(maxlen=REMARKS_KEPT)
        self.identity = Identity()
        self.period_s = plan.tables.head.period

    def set_up(self) -> None:
        """Find out who answers, send what starts and selects. Raises any WireError."""
        self.identity = self._identified()
        self._select()

    def poll(self, wait_s: float) -> Sequence[Indication]:
        """Ask once; its own deadline then counts. Nothing if it is too early: asked sooner than it measures,
        a meter says the same value again, and a held value would pass for many that agree."""
        end_ns = self._monotonic_ns() + round(wait_s * 1e9)
        self._talk.rest(min(self._due_ns, end_ns))
        if self._monotonic_ns() < self._due_ns:
            return []
        found = self._read()
        self._due_ns = found[0].monotonic_ns + round(self._plan.tables.head.period * 1e9)
        self.period_s = self._period.after(found[0].monotonic_ns)
        return found

    def resynchronise(self) -> None:
        """The meter may have been off meanwhile: what starts and selects is sent again."""
        now = self._identified()
        if now != self.identity:
            self._talk.lose_step()
            raise WrongMeter(f'"{now.text}" answers now; it was "{self.identity.text}"')
        self._select()

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

    def _read(self) -> tuple[Indication, ...]:
        try:
            cut = self._talk.ask(self._ask.reading)
        except Refused as refusal:
            self._remarks.append(str(refusal))
            raise Garbled(str(refusal)) from refusal
        decoded = self._decoder.decode(cut, self._plan.selected)
        if not decoded.indications:
            self._talk.lose_step()
            complaint = _complaint(decoded, cut.line)
            self._remarks += [complaint] if decoded.error else []
            raise Garbled(complaint)
        return decoded.indications

    def _identified(self) -> Identity:
        """A late answer shifts the answers by one: then it begins again."""
        identify = self._plan.tables.identify
        if identify is None:
            self._talk.fall_quiet(self._talk.patience_s(self._ask.reading))
            return self._plan.described.identity()
        answer = ""
        for _ in range(SYNCHRONISE_TRIES):
            self._talk.fall_quiet()
            with suppress(Garbled):
                answer = self._talk.ask(identify.ask).line.decode("latin-1").strip()
            if answer and identify.answer in answer:
                return self._plan.described.identity(answer)
        self._talk.lose_step()
        raise WrongMeter(f'"{answer}" answers; its dialect wants "{identify.answer}" in it')

    def _select(self) -> None:
        for command in self._plan.commands:
            self._talk.tell(command)
        if self._plan.tables.identify is None:
            self._prove()

    def _prove(self) -> None:
        """By a reading after which nothing more comes: no late answer stood in its place. It is forgotten."""
        for _ in range(SYNCHRONISE_TRIES):
            self._read()
            if not self._talk.fall_quiet(self._talk.patience_s(self._ask.reading)):
                return
        self._talk.lose_step()
        raise Garbled("answers come twice; does another program use this meter?")
