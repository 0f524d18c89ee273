"""A function generator's command language, moving the source of the simulated bench.

Commands after SCPI-1999 volume 2 (SOURce:FREQuency, SOURce:VOLTage, SOURce:FUNCtion, OUTPut). Amplitudes are
rms and open voltages: what the generator's own display says, not what a load leaves of it. Both are choices,
for the standard leaves them to the instrument.
"""

import math

from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.errors import SimulateError
from meterlog.simulate.scpi_instrument import Acts, Refusal, ScpiInstrument, argument, nr3
from meterlog.simulate.scpi_words import Command

DBU_V = math.sqrt(0.6)
FREQUENCY, LEVEL, ON = "frequency_hz", "level_dbu", "oscillator"
"""The controls of a unit that are a source's."""


class ScpiSource(ScpiInstrument):
    """See `ScpiInstrument`. The unit on the bench must have the three controls."""

    identity = "SIMULATED BENCH,function generator,S-002,1.0"

    def __init__(self, bench: SimulatedBench) -> None:
        super().__init__()
        self._bench = bench

    def _commands(self) -> Acts:
        return {
            "[SOURce:]FREQuency[:CW]": lambda command: self._set(FREQUENCY, argument(command), command),
            "[SOURce:]FREQuency[:CW]?": lambda _: nr3(float(self._control(FREQUENCY))),
            "[SOURce:]VOLTage[:LEVel][:IMMediate][:AMPLitude]": self._set_level,
            "[SOURce:]VOLTage[:LEVel][:IMMediate][:AMPLitude]?": lambda _: nr3(self._volts),
            "[SOURce:]FUNCtion[:SHAPe]": _only_sine,
            "[SOURce:]FUNCtion[:SHAPe]?": lambda _: "SIN",
            "OUTPut[:STATe]": self._switch,
            "OUTPut[:STATe]?": lambda _: str(int(bool(self._control(ON)))),
        }

    @property
    def _volts(self) -> float:
        return DBU_V * math.pow(10.0, float(self._control(LEVEL)) / 20.0)

    def _control(self, name: str) -> str | bool | float:
        return self._bench.now().controls[name]

    def _set_level(self, command: Command) -> None:
        volts = argument(command)
        if volts <= 0.0:
            raise Refusal(-222, command.arguments[0])
        self._set(LEVEL, 20.0 * math.log10(volts / DBU_V), command)

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
