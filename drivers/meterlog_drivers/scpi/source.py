"""Sine sources that speak SCPI: the ability of the driver `scpi` to set one.

    *IDN?  *OPC?  *CLS            who is there, and are answers in step
    SOUR:FUNC SIN                 once
    SOUR:FREQ 3150                then SOUR:VOLT, each followed by SYST:ERR? until 0
    SOUR:FREQ?  SOUR:VOLT?  OUTP?
    OUTP ON                       only when what was read back is right

Options of the bench file:
    amplitude    what the number of SOUR:VOLT is: rms, peak or peak-to-peak; must be stated, for the standard
                 leaves it to the instrument, and a wrong guess is a level three times as high
    terminator   lf, crlf or cr (lf)

The number is what the source's own display says; what its load leaves of it only a meter at the load tells.
Source: SCPI-1999 volume 2 (SOURce, OUTPut), IEEE 488.2.
"""

import math
from collections.abc import Mapping

from meterlog.reading import Garbled, Identity, Nanoseconds, Options, Refused, Settings, Tone, Wire
from meterlog_drivers.scpi.answers import parse_bool, parse_elements
from meterlog_drivers.scpi.conversation import Conversation
from meterlog_drivers.scpi.dialect import TERMINATORS

_PER_RMS: Mapping[str, float] = {"rms": 1.0, "peak": math.sqrt(2.0), "peak-to-peak": 2.0 * math.sqrt(2.0)}


class ScpiSource:
    """See `meterlog.reading.Source`."""

    def __init__(self, conversation: Conversation, identity: Identity, per_rms: float) -> None:
        self.identity = identity
        self._conversation = conversation
        self._per_rms = per_rms

    def set(self, frequency_hz: float | None, level_v: float | None) -> Tone:
        if frequency_hz is not None:
            self.tell(f"SOUR:FREQ {frequency_hz:.9G}")
        if level_v is not None:
            self.tell(f"SOUR:VOLT {level_v * self._per_rms:.6G}")
        return self._read_back()

    def switch_on(self) -> Tone:
        self.tell("OUTP ON")
        return self._read_back()

    def close(self) -> None:
        """Nothing to give back: the tone stays."""

    def tell(self, command: str) -> None:
        self._conversation.tell(command)
        if errors := self._conversation.read_errors():
            raise Refused(f"the source refused {command}: {', '.join(map(str, errors))}")

    def _read_back(self) -> Tone:
        frequency_hz, shown = self._number("SOUR:FREQ?"), self._number("SOUR:VOLT?")
        return Tone(frequency_hz, shown / self._per_rms, parse_bool(self._conversation.ask("OUTP?").content))

    def _number(self, question: str) -> float:
        content = self._conversation.ask(question).content
        elements = parse_elements(content)
        if len(elements) != 1 or elements[0].value is None:
            raise Garbled(f"{question} was answered with {content[:40]!r}, which is no number")
        return elements[0].value


def connect_source(wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> ScpiSource:
    """See `meterlog.reading.DrivesSources`."""
    amplitude, terminator = _options(settings.options)
    conversation = Conversation(wire, monotonic_ns, TERMINATORS[terminator])
    conversation.fall_quiet()
    source = ScpiSource(conversation, conversation.synchronise(), _PER_RMS[amplitude])
    conversation.tell("*CLS")
    source.tell("SOUR:FUNC SIN")
    return source


def _options(options: Options) -> tuple[str, str]:
    if unknown := set(options) - {"amplitude", "terminator"}:
        raise ValueError(f"no option {min(unknown)!r} for a source; there are amplitude, terminator")
    amplitude, terminator = str(options.get("amplitude", "")), str(options.get("terminator", "lf"))
    if amplitude not in _PER_RMS:
        raise ValueError(f"write the option amplitude, what SOUR:VOLT counts: {', '.join(_PER_RMS)}")
    if terminator not in TERMINATORS:
        raise ValueError(f"no terminator {terminator!r}; there are {', '.join(TERMINATORS)}")
    return amplitude, terminator
