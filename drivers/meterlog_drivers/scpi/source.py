"""Sine sources that speak SCPI: the ability of the driver `scpi` to set one.

    *IDN?  *OPC?  *CLS            who is there, and are answers in step
    SOUR:FUNC SIN                 once
    SOUR:FREQ 3150                then SOUR:VOLT, each followed by SYST:ERR? until 0
    SOUR:FUNC?  SOUR:FREQ?  SOUR:VOLT?  VOLT:UNIT?  VOLT:OFFS?  OUTP:LOAD?  OUTP?
    OUTP ON                       only when what was read back is right

With the dialect "apply" `APPL:SIN 3150,1.5,0` sets all at once, so that nothing half set is ever put out. In
some families it switches the output on too (from memory), before anything could be read back: so only where
the output is on already; one that is off is set by FREQ and VOLT, as by any source.

A generator that is asked for too much clips it and queues -222, or changes another setting and queues -221:
neither is believed nor refused for itself, what is read back counts, and both are told. Other errors are
refusals. An offset other than 0 V or a shape other than a sine is refused; so is a display that counts on
another load than the bench file states. Nothing of these is changed silently.

Options of the bench file:
    amplitude    what the number of VOLT is: rms, peak or peak-to-peak; or auto: the source is asked
                 (VOLT:UNIT?) before and after each setting. Must be stated, for the standard leaves it to
                 the instrument, and a wrong guess is a level three times as high
    channel      which output of several: SOUR2:FREQ and OUTP2 in place of FREQ and OUTP
    load         ohms, or "high impedance": what the source's display must count on (OUTP:LOAD?)
    terminator   lf, crlf or cr (lf)

The number is what the source's own display says; what its load leaves of it only a meter at the load tells.
Sources: SCPI-1999 volume 2 (SOURce, OUTPut), IEEE 488.2; units, loads and clipping: manuals of four families.
"""

from collections.abc import Callable
from contextlib import suppress
from typing import TypeVar

from meterlog.reading import Garbled, Identity, Nanoseconds, Refused, Settings, Tone, Unanswered, Wire
from meterlog_drivers.scpi.answers import DeviceError, parse_bool, parse_elements, parse_text
from meterlog_drivers.scpi.conversation import Conversation
from meterlog_drivers.scpi.source_level import Counting, parse_load, parse_unit, said, same_load
from meterlog_drivers.scpi.source_plan import AUTO, SourcePlan, source_plan_of

CORRECTED = frozenset({-221, -222})
"""Settings conflict, data out of range (SCPI-1999 volume 2, 21.8): it may have set something else."""
OFFSET_V = 1e-3
"""Below the last digit of a generator's offset (common practice)."""

Answer = TypeVar("Answer")


class ScpiSource:
    """See `meterlog.reading.Source`."""

    def __init__(self, conversation: Conversation, identity: Identity, plan: SourcePlan) -> None:
        self.identity = identity
        self._conversation = conversation
        self._plan = plan
        self._node, self._output = plan.node, plan.output
        self._mute: set[str] = set()
        self._said: list[str] = []

    def set(self, frequency_hz: float | None, level_v: float | None) -> Tone:
        self._said.clear()
        if self._plan.dialect.together and self._is_on():
            self._apply(frequency_hz, level_v)
        else:
            self._set_each(frequency_hz, level_v)
        tone = self._read_back()
        if self._said and None in (frequency_hz, level_v):
            raise Refused(f"{tone.remark}; it reads back {tone}")  # what was to stay may have moved
        return tone

    def switch_on(self) -> Tone:
        self._tell(f"{self._output} ON")  # what was said to the setting is told with it
        return self._read_back()

    def close(self) -> None:
        """Nothing to give back: the tone stays."""

    def prepare(self) -> None:
        """The shape, and which questions this source answers. Raises as `set`, and Refused for the load."""
        self._conversation.tell("*CLS")
        self._tell(f"{self._node}FUNC SIN")
        for question in (self._offset, self._load):
            self._learn(question)
        self._insist_on_load(self._load_ohm())

    def _set_each(self, frequency_hz: float | None, level_v: float | None) -> None:
        if frequency_hz is not None:
            self._tell(f"{self._node}FREQ {frequency_hz:.9G}")
        if level_v is not None:
            number = _sayable(self._counting(self._load_ohm()).number_of, level_v)
            self._tell(f"{self._node}VOLT {number:.6G}")

    def _apply(self, frequency_hz: float | None, level_v: float | None) -> None:
        if frequency_hz is None:
            frequency_hz = self._number(f"{self._node}FREQ?")
        if level_v is None:
            number = self._number(f"{self._node}VOLT?")
        else:
            number = _sayable(self._counting(self._load_ohm()).number_of, level_v)
        together = self._plan.dialect.together
        self._tell(together.format(node=self._node, frequency_hz=frequency_hz, number=number))

    def _read_back(self) -> Tone:
        self._insist_on_sine()
        frequency_hz, number = self._number(f"{self._node}FREQ?"), self._number(f"{self._node}VOLT?")
        load_ohm = self._load_ohm()
        level_v = _sayable(self._counting(load_ohm).level_of, number)
        tone = Tone(frequency_hz, level_v, self._is_on(), "; ".join([*self._said, *self._notes(load_ohm)]))
        self._insist_on_load(load_ohm)
        if self._offset not in self._mute and abs(offset_v := self._number(self._offset)) > OFFSET_V:
            raise Refused(f"the source has an offset of {offset_v:g} V: set it to 0 V; it reads back {tone}")
        return tone

    def _counting(self, load_ohm: float | None) -> Counting:
        if self._plan.amplitude == AUTO:
            return Counting(parse_unit(self._ask(f"{self._node}VOLT:UNIT?")), load_ohm)
        return Counting(self._plan.amplitude, load_ohm)

    def _notes(self, load_ohm: float | None) -> list[str]:
        notes = ["its offset cannot be read"] if self._offset in self._mute else []
        return [*notes, f"its level is meant across {said(load_ohm)}"]

    def _insist_on_load(self, load_ohm: float | None) -> None:
        wanted_ohm = self._plan.load_ohm
        if wanted_ohm is None or (load_ohm is not None and same_load(load_ohm, wanted_ohm)):
            return
        raise Refused(
            f"the source's level is meant across {said(load_ohm)}, the bench file's across "
            f"{said(wanted_ohm)}: set the load at the source (its level will then read otherwise), or "
            "correct the option load"
        )

    def _insist_on_sine(self) -> None:
        shape = parse_text(self._ask(f"{self._node}FUNC?")).strip('"').upper()
        if not shape.startswith("SIN"):
            raise Refused(f"the source gives {shape}, not a sine: choose the sine at the source")

    @property
    def _offset(self) -> str:
        return f"{self._node}VOLT:OFFS?"

    @property
    def _load(self) -> str:
        return f"{self._output}:LOAD?"

    def _load_ohm(self) -> float | None:
        return None if self._load in self._mute else parse_load(self._ask(self._load))

    def _is_on(self) -> bool:
        return parse_bool(self._ask(f"{self._output}?"))

    def _learn(self, question: str) -> None:
        """A question that is not of the standard may stay without an answer: that costs its patience once."""
        try:
            self._ask(question)
        except Unanswered:
            self._mute.add(question)
            self._conversation.synchronise()
            with suppress(Garbled):
                self._conversation.read_errors()

    def _tell(self, command: str) -> None:
        self._conversation.tell(command)
        self._hear(command)

    def _hear(self, command: str) -> None:
        errors = self._conversation.read_errors()
        if any(error.number not in CORRECTED for error in errors):
            raise Refused(f"the source refused {command}: {_listed(errors)}")
        if errors:
            self._said.append(f"to {command} the source said {_listed(errors)}")

    def _ask(self, question: str) -> bytes:
        return self._conversation.ask(question).content

    def _number(self, question: str) -> float:
        content = self._ask(question)
        elements = parse_elements(content)
        if len(elements) != 1 or elements[0].value is None:
            raise Garbled(f"{question} was answered with {content[:40]!r}, which is no number")
        return elements[0].value


def connect_source(wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> ScpiSource:
    """See `meterlog.reading.DrivesSources`."""
    plan = source_plan_of(settings)
    conversation = Conversation(wire, monotonic_ns, plan.terminator)
    conversation.fall_quiet()
    source = ScpiSource(conversation, conversation.synchronise(), plan)
    source.prepare()
    return source


def _sayable(convert: Callable[[float], Answer], number: float) -> Answer:
    """What a source's unit cannot say a person must set otherwise."""
    try:
        return convert(number)
    except ValueError as reason:
        raise Refused(str(reason)) from reason


def _listed(errors: list[DeviceError]) -> str:
    return ", ".join(map(str, errors))
