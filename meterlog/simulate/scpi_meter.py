"""The bench meter's command language: a 6.5-digit meter that measures volts AC and DC, and frequency.

Commands after SCPI-1999 volume 2 (CONFigure, MEASure, READ, INITiate, FETCh, SYSTem:ERRor) and IEEE 488.2
(commands with an asterisk). The AC filter's VOLTage:AC:BANDwidth with 3, 20 and 200 Hz and SAMPle:COUNt are
dialect, as in manuals of one family of bench meters, and so is its memory of readings (R?, DATA:REMove?,
DATA:POINts?); the sample timer and the second display (DATA2?) are from memory. Not modelled: triggers other
than immediate; a relative display (it says that none is on); the settling delay that such meters insert
before each AC reading: what is shown lags by the filter instead.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from meterlog.simulate.clock import Clock
from meterlog.simulate.meter import MeterModel, Shown
from meterlog.simulate.scpi_instrument import Acts, Refusal, ScpiInstrument, argument, nr3
from meterlog.simulate.scpi_memory import ReadingMemory, asked_for, block
from meterlog.simulate.scpi_plans import AC, BANDS_HZ, DC, FILTER_S, FREQUENCY, MEASURING_S
from meterlog.simulate.scpi_words import Command

IDENTITY = "SIMULATED BENCH,6.5-digit meter,S-001,1.0"
OVERLOAD = "+9.90000000E+37"
MOST_SAMPLES = 1_000_000

Wait = Callable[[float], bool]


class Stopped(Exception):  # noqa: N818 - not an error: the lead was pulled while a measurement ran
    """The wait for a measurement was cut short; nothing is to be answered."""


@dataclass(slots=True)
class _Setup:
    """interval_s: of the sample timer, 0 for as fast as the meter can. second: what DATA2? shows."""

    function: str = DC
    samples: int = 1
    triggers: float = 1
    band_hz: float = 20.0
    interval_s: float = 0.0
    second: str = ""


class ScpiMeter(ScpiInstrument):
    """See `ScpiInstrument`.

    models  one for each function
    wait    wait(seconds): true when the meter was stopped meanwhile
    """

    def __init__(
        self, models: Mapping[str, MeterModel], clock: Clock, wait: Wait, identity: str = IDENTITY
    ) -> None:
        super().__init__()
        self.identity = identity
        self._models, self._clock, self._wait = models, clock, wait
        self._setup = _Setup()
        self._memory = ReadingMemory(clock, lambda at_s: self._show(self._setup.function, at_s))

    def _commands(self) -> Acts:
        return {
            "CONFigure[:VOLTage]:AC": lambda command: self._configure(AC, command),
            "CONFigure[:VOLTage][:DC]": lambda command: self._configure(DC, command),
            "CONFigure:FREQuency": lambda command: self._configure(FREQUENCY, command),
            "CONFigure?": lambda _: self._describe(),
            "MEASure[:VOLTage]:AC?": lambda command: self._measure_now(AC, command),
            "MEASure[:VOLTage][:DC]?": lambda command: self._measure_now(DC, command),
            "MEASure:FREQuency?": lambda command: self._measure_now(FREQUENCY, command),
            "[SENSe:]VOLTage:AC:BANDwidth": self._set_band,
            "[SENSe:]VOLTage:AC:BANDwidth?": lambda _: nr3(self._setup.band_hz),
            "[SENSe:]VOLTage:AC:RANGe[:UPPer]": lambda command: self._set_range(AC, command),
            "[SENSe:]VOLTage[:DC]:RANGe[:UPPer]": lambda command: self._set_range(DC, command),
            "[SENSe:]VOLTage:AC:RANGe[:UPPer]?": lambda _: self._range_text(AC),
            "[SENSe:]VOLTage[:DC]:RANGe[:UPPer]?": lambda _: self._range_text(DC),
            "[SENSe:]VOLTage:AC:RANGe:AUTO": lambda command: self._set_auto(AC, command),
            "[SENSe:]VOLTage[:DC]:RANGe:AUTO": lambda command: self._set_auto(DC, command),
            "[SENSe:]VOLTage:AC:RANGe:AUTO?": lambda _: self._auto_text(AC),
            "[SENSe:]VOLTage[:DC]:RANGe:AUTO?": lambda _: self._auto_text(DC),
            "[SENSe:]FUNCtion[:ON]?": lambda _: f'"{self._setup.function}"',
            "[SENSe:]VOLTage[:DC]:NULL:STATe?": lambda _: "0",
            "[SENSe:]VOLTage:AC:NULL:STATe?": lambda _: "0",
            "[SENSe:]FREQuency:NULL:STATe?": lambda _: "0",
            "CALCulate:STATe?": lambda _: "0",
            "SAMPle:COUNt": self._set_samples,
            "SAMPle:COUNt?": lambda _: f"+{self._setup.samples}",
            "SAMPle:SOURce": self._set_pace,
            "SAMPle:TIMer": self._set_interval,
            "TRIGger:SOURce": self._set_trigger,
            "TRIGger:COUNt": self._set_triggers,
            "READ?": lambda _: self._read(),
            "INITiate[:IMMediate]": lambda _: self._start(),
            "FETCh?": lambda _: self._fetch(),
            "ABORt": lambda _: self._memory.stop(),
            "*OPC?": lambda _: self._wait_for_all(),
            "R?": lambda command: block(self._memory.fetch(asked_for(command))),
            "DATA:REMove?": self._remove,
            "DATA:POINts?": lambda _: f"+{self._memory.waiting()}",
            "STATus:QUEStionable[:EVENt]?": lambda _: str(self._memory.take_overflow()),
            "[SENSe:]VOLTage:AC:SECondary": self._set_second,
            "DATA2?": lambda _: self._second(),
        }

    def _reset(self) -> None:
        self._setup = _Setup()
        self._empty()
        for model in self._models.values():
            model.fix_range(None)
        self._choose_band(20.0)

    def _configure(self, function: str, command: Command) -> None:
        """CONFigure sets range, filter and sample count back to their defaults, as the manuals say."""
        self._reset()
        self._setup.function = function
        if command.arguments and command.arguments[0].upper() not in {"AUTO", "DEF"}:
            self._set_range(function, command)

    def _describe(self) -> str:
        return f'"{self._setup.function} {self._range_text(self._setup.function)}"'

    def _set_range(self, function: str, command: Command) -> None:
        volts = argument(command)
        if volts < 0 or not self._models[function].fix_range(volts):
            raise Refusal(-222, command.arguments[0])
        self._empty()

    def _set_auto(self, function: str, command: Command) -> None:
        model = self._models[function]
        wanted = command.arguments[0].upper() if command.arguments else ""
        if wanted in {"ON", "1"}:
            model.fix_range(None)
        elif wanted in {"OFF", "0"}:
            model.fix_range(model.plan.ranges_volts[model.range_index])
        else:
            raise Refusal(-224 if wanted else -109, wanted)

    def _range_text(self, function: str) -> str:
        model = self._models[function]
        return nr3(
            model.plan.ranges_volts[model.range_index] if model.fixed_volts is None else model.fixed_volts
        )

    def _auto_text(self, function: str) -> str:
        return "1" if self._models[function].fixed_volts is None else "0"

    def _set_band(self, command: Command) -> None:
        """A value between two filters picks the next lower one."""
        asked_hz = argument(command)
        fitting = [band_hz for band_hz in BANDS_HZ if band_hz <= asked_hz]
        if not fitting or asked_hz > 300_000:
            raise Refusal(-222, command.arguments[0])
        self._choose_band(fitting[-1])

    def _choose_band(self, band_hz: float) -> None:
        self._setup.band_hz = band_hz
        self._models[AC].filter_s = FILTER_S[band_hz]

    def _set_samples(self, command: Command) -> None:
        asked = argument(command)
        if not 1 <= asked <= MOST_SAMPLES or asked != int(asked):
            raise Refusal(-222, command.arguments[0])
        self._setup.samples = int(asked)

    def _set_pace(self, command: Command) -> None:
        wanted = command.arguments[0].upper() if command.arguments else ""
        if wanted not in {"IMM", "TIM"}:
            raise Refusal(-224 if wanted else -109, wanted)
        self._setup.interval_s = 1.0 if wanted == "TIM" else 0.0

    def _set_interval(self, command: Command) -> None:
        """Shorter than one reading takes: as fast as it can."""
        self._setup.interval_s = argument(command)

    def _set_trigger(self, command: Command) -> None:
        if command.arguments and command.arguments[0].upper() not in {"IMM", "IMMEDIATE"}:
            raise Refusal(-224, command.arguments[0])

    def _set_triggers(self, command: Command) -> None:
        endless = command.arguments[:1] == ("INF",)
        self._setup.triggers = float("inf") if endless else argument(command)

    def _set_second(self, command: Command) -> None:
        wanted = command.arguments[0].strip('"') if command.arguments else ""
        if wanted not in {FREQUENCY, DC, "VOLT:DC"}:
            raise Refusal(-224 if wanted else -109, wanted)
        self._setup.second = wanted.removesuffix(":DC")

    def _second(self) -> str:
        if not self._setup.second:
            raise Refusal(-230)
        return self._show(self._setup.second, self._clock.now_s())

    def _measure_now(self, function: str, command: Command) -> str:
        self._configure(function, command)
        return self._read()

    def _read(self) -> str:
        self._start()
        return self._fetch()

    def _start(self) -> None:
        self._memory.start(self._period_s, self._setup.samples * self._setup.triggers)

    @property
    def _period_s(self) -> float:
        ac = self._setup.function == AC
        return max(self._setup.interval_s, MEASURING_S[self._setup.band_hz] if ac else MEASURING_S[20.0])

    def _wait_for_all(self) -> str | None:
        """Nothing is answered while it measures without end: that is never done."""
        while 0.0 < (left_s := self._memory.lasts_s) < float("inf"):
            if self._wait(left_s):
                raise Stopped
        return None if left_s else "1"

    def _fetch(self) -> str:
        """Waits for all that were asked for; without end there is nothing to wait for."""
        self._wait_for_all()
        if not self._memory.waiting():
            raise Refusal(-230)
        return ",".join(self._memory.all())

    def _remove(self, command: Command) -> str:
        count = asked_for(command)
        if count > self._memory.waiting():
            raise Refusal(-222, str(count))
        return block(self._memory.fetch(count))

    def _empty(self) -> None:
        """Any change of what is measured, or how, empties the memory."""
        self._memory.start(1.0, 0)

    def _show(self, function: str, at_s: float) -> str:
        return _text(self._models[function].indicate(at_s))


def _text(shown: Shown) -> str:
    return OVERLOAD if shown.value is None else nr3(shown.value)
