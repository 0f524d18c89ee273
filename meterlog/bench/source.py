"""The source of the bench: set to what is asked, read back, and only then believed.

It is never set above what the bench file allows, and its output is switched on only once what it reads back
is right. The line stays open between two settings; one that has died meanwhile is opened once more. Used by
one thread.
"""

import math
import time
from contextlib import ExitStack, closing

from meterlog.bench.bench_model import SourceEntry
from meterlog.bench.clock import Clock
from meterlog.bench.recognise import insist_on
from meterlog.bench.wires import OpenWire
from meterlog.bench.wires import open_wire as open_any_wire
from meterlog.errors import MeterlogError
from meterlog.reading import DrivesSources, Identity, Refused, Settings, Source, Tone

FREQUENCY_SHARE, LEVEL_SHARE = 1e-3, 1e-2
"""How near what is read back must be: the steps of a source and the digits of its answer are inside it."""


class SourceError(MeterlogError):
    """The source was not set; the text says why, for the person who now sets it by hand."""


class DrivenSource:
    """`set` opens the line when it is needed."""

    def __init__(
        self, entry: SourceEntry, driver: DrivesSources, clock: Clock, *, open_wire: OpenWire = open_any_wire
    ) -> None:
        self.name = entry.name
        self._entry, self._driver, self._clock = entry, driver, clock
        self._open_wire = open_wire
        self._known: Identity | None = None
        self._source: Source | None = None
        self._opened = ExitStack()

    def set(self, frequency_hz: float | None, level_v: float | None) -> str:
        """What it then reads back, as text. SourceError: it does not give what was asked, and why."""
        self._insist_on_most(level_v)
        kept_open = self._source is not None
        try:
            return _told(self._brought_to(frequency_hz, level_v))
        except SourceError:
            raise
        except Refused as refusal:
            raise SourceError(str(refusal)) from refusal
        except Exception as fault:  # drivers are strangers: whatever it is, a person has to be told
            self.close()
            if not kept_open:
                raise SourceError(_fault_told(fault, self._entry.driver)) from fault
        return self.set(frequency_hz, level_v)

    def close(self) -> None:
        self._source = None
        self._opened.close()

    def _brought_to(self, frequency_hz: float | None, level_v: float | None) -> Tone:
        source = self._source or self._open()
        tone = source.set(frequency_hz, level_v)
        self._insist_on(tone, frequency_hz, level_v)
        if tone.on:
            return tone
        tone = source.switch_on()
        self._insist_on(tone, frequency_hz, level_v)
        if not tone.on:
            raise SourceError(f"{self.name} reads back that its output is off")
        return tone

    def _open(self) -> Source:
        line = self._entry.line.over(self._driver.line)
        wire = self._opened.enter_context(closing(self._open_wire(self._entry.address, line)))
        time.sleep(line.quiet_s)
        settings = Settings(dialect=self._entry.dialect, options=self._entry.options)
        source = self._driver.connect_source(wire, settings, self._clock.monotonic_ns)
        self._opened.enter_context(closing(source))
        insist_on(source.identity, self._entry.identity, self._known)
        self._source, self._known = source, source.identity
        return source

    def _insist_on(self, tone: Tone, frequency_hz: float | None, level_v: float | None) -> None:
        right = _near(tone.frequency_hz, frequency_hz, FREQUENCY_SHARE) and _near(
            tone.level_v, level_v, LEVEL_SHARE
        )
        if not right:
            raise SourceError(f"{self.name} reads back {_told(tone)}")
        self._insist_on_most(tone.level_v)

    def _insist_on_most(self, level_v: float | None) -> None:
        if level_v is not None and level_v > self._entry.most.base * (1.0 + LEVEL_SHARE):
            raise SourceError(f"{level_v:.4g} V is more than the bench file allows ({self._entry.most})")


def _near(found: float, wanted: float | None, share: float) -> bool:
    return wanted is None or math.isclose(found, wanted, rel_tol=share)


def _told(tone: Tone) -> str:
    return f"{tone}; {tone.remark}" if tone.remark else str(tone)


def _fault_told(fault: Exception, driver: str) -> str:
    """Errors of this project, and a driver's about its options, speak in sentences."""
    if isinstance(fault, MeterlogError | ValueError):
        return str(fault)
    return f"driver {driver} failed: {type(fault).__name__}: {fault}"
