"""A function generator's command language, moving the source of the simulated bench.

Commands after SCPI-1999 volume 2 (SOURce:FREQuency, SOURce:VOLTage, SOURce:FUNCtion, OUTPut); APPLy,
VOLTage:UNIT and OUTPut:LOAD as most generators have them. The control of the unit is the open voltage, rms;
the amplitude is counted in VRMS, VPP or DBM across the load that it was told of, from 50 ohm: told of 50 ohm
it shows half of what it shows at high impedance, and nothing changes at the unit. It begins with VRMS and
high impedance, a choice: the standard leaves both to the instrument.
"""

import math

from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.errors import SimulateError
from meterlog.simulate.scpi_instrument import Acts, Refusal, ScpiInstrument, argument, nr3
from meterlog.simulate.scpi_words import Command, number

DBU_V = math.sqrt(0.6)
FREQUENCY, LEVEL, ON = "frequency_hz", "level_dbu", "oscillator"
"""The controls of a unit that are a source's."""
OWN_OHM = 50.0
INFINITE = 9.9e37
"""SCPI-1999 volume 1, 7.2.1.4."""


class ScpiSource(ScpiInstrument):
    """See `ScpiInstrument`. The unit on the bench must have the three controls."""

    identity = "SIMULATED BENCH,function generator,S-002,1.0"

    def __init__(self, bench: SimulatedBench) -> None:
        super().__init__()
        self._bench = bench
        self._unit = "VRMS"
        self._load_ohm = math.inf
        self._offset_v = 0.0

    def _commands(self) -> Acts:
        level = "[SOURce:]VOLTage[:LEVel][:IMMediate]"
        return {
            "[SOURce:]FREQuency[:CW]": lambda command: self._set(FREQUENCY, argument(command), command),
            "[SOURce:]FREQuency[:CW]?": lambda _: nr3(float(self._control(FREQUENCY))),
            f"{level}[:AMPLitude]": lambda command: self._set_level(argument(command), command),
            f"{level}[:AMPLitude]?": lambda _: nr3(self._shown(self._open_v)),
            f"{level}:OFFSet": self._set_offset,
            f"{level}:OFFSet?": lambda _: nr3(self._offset_v),
            "[SOURce:]VOLTage:UNIT": self._count_in,
            "[SOURce:]VOLTage:UNIT?": lambda _: self._unit,
            "[SOURce:]FUNCtion[:SHAPe]": _only_sine,
            "[SOURce:]FUNCtion[:SHAPe]?": lambda _: "SIN",
            "[SOURce:]APPLy:SINusoid": self._apply,
            "OUTPut:LOAD": self._assume,
            "OUTPut:LOAD?": lambda _: nr3(min(self._load_ohm, INFINITE)),
            "OUTPut[:STATe]": self._switch,
            "OUTPut[:STATe]?": lambda _: str(int(bool(self._control(ON)))),
        }

    @property
    def _open_v(self) -> float:
        return DBU_V * math.pow(10.0, float(self._control(LEVEL)) / 20.0)

    @property
    def _loss(self) -> float:
        """What the load that it was told of leaves of the open voltage."""
        return 1.0 / (1.0 + OWN_OHM / self._load_ohm)

    def _shown(self, open_v: float) -> float:
        volts = open_v * self._loss
        if self._unit == "DBM":
            return 10.0 * math.log10(volts**2 / self._load_ohm / 1e-3)
        return volts * (2.0 * math.sqrt(2.0) if self._unit == "VPP" else 1.0)

    def _open_of(self, shown: float) -> float:
        if self._unit == "DBM":
            return math.sqrt(10.0 ** (shown / 10.0) * 1e-3 * self._load_ohm) / self._loss
        return shown / (2.0 * math.sqrt(2.0) if self._unit == "VPP" else 1.0) / self._loss

    def _control(self, name: str) -> str | bool | float:
        return self._bench.now().controls[name]

    def _set_level(self, shown: float, command: Command) -> None:
        open_v = self._open_of(shown)
        if open_v <= 0.0:
            raise Refusal(-222, command.arguments[0])
        self._set(LEVEL, 20.0 * math.log10(open_v / DBU_V), command)

    def _set_offset(self, command: Command) -> None:
        self._offset_v = argument(command)

    def _count_in(self, command: Command) -> None:
        wanted = command.arguments[0].upper() if command.arguments else ""
        if wanted not in {"VRMS", "VPP", "DBM"}:
            raise Refusal(-224 if wanted else -109, wanted)
        if wanted == "DBM" and math.isinf(self._load_ohm):
            raise Refusal(-221, "dBm at high impedance")
        self._unit = wanted

    def _assume(self, command: Command) -> None:
        """The unit dBm goes with a load that it can be counted in."""
        if command.arguments and command.arguments[0].upper() in {"INF", "INFINITY"}:
            self._load_ohm = math.inf
        else:
            self._load_ohm = argument(command)
        if self._unit == "DBM" and math.isinf(self._load_ohm):
            self._unit = "VPP"

    def _apply(self, command: Command) -> None:
        """Frequency, amplitude, offset; the output comes on."""
        numbers = [number(text) for text in command.arguments]
        if len(numbers) != 3 or None in numbers:
            raise Refusal(-109 if len(numbers) < 3 else -224)
        frequency_hz, level, offset_v = (value or 0.0 for value in numbers)
        self._set(FREQUENCY, frequency_hz, command)
        self._set_level(level, command)
        self._offset_v = offset_v
        self._bench.set({ON: True})

    def _set(self, control: str, value: float | bool, command: Command) -> None:
        try:
            self._bench.set({control: value})
        except SimulateError as error:
            raise Refusal(-222, command.arguments[0]) from error

    def _switch(self, command: Command) -> None:
        wanted = command.arguments[0].upper() if command.arguments else ""
        if wanted not in {"ON", "1", "OFF", "0"}:
            raise Refusal(-224 if wanted else -109, wanted)
        self._set(ON, wanted in {"ON", "1"}, command)

    def _reset(self) -> None:
        """As the standard wants it: the output off."""
        self._bench.set({ON: False})


def _only_sine(command: Command) -> None:
    wanted = command.arguments[0].upper() if command.arguments else ""
    if wanted not in {"SIN", "SINUSOID"}:
        raise Refusal(-224 if wanted else -109, wanted)
