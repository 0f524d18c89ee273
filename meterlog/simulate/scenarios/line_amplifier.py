"""A two-channel line amplifier. Invented; first-order roll-offs at both ends (textbook).

* gain trims of 6 dB about 14 dB; each channel 0.1 dB low while cold (60 s)
* a common supply that gives way: a loud right channel takes 0.03 dB from the left one (invented)
"""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import LEVEL, WARM, tone
from meterlog.simulate.unit import Control, Plain, Positions, TrimmerPlan

ROWS_HZ = {"20 Hz": 20.0, "100 Hz": 100.0, "1 kHz": 1e3, "10 kHz": 1e4, "20 kHz": 2e4}
LEFT, RIGHT = Knob(name="gain left"), Knob(name="gain right")


class LineAmplifier(Plain):
    name = "two-channel line amplifier"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            "gain left": TrimmerPlan(hint="gain trim, left", start=0.61),
            "gain right": TrimmerPlan(hint="gain trim, right", start=0.37),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType(dict(physics.oscillator(level_dbu=-12.0)))

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        source = physics.source_volts(now, hum_dbu=-100)
        right = self._channel(source, now, "right", time_s)
        sag_db = -0.03 * min(1.0, right / physics.volts(4))
        left = self._channel(source, now, "left", time_s) * physics.gain(sag_db)
        return {"input": source, "left": left, "right": right}

    def _channel(self, source: float, now: Positions, side: str, time_s: float) -> float:
        hertz = physics.frequency(now)
        gain_db = (
            14
            + 6 * (now.wiper(f"gain {side}") - 0.5)
            - 0.1 * (1 - physics.warmth(time_s, 60))
            + physics.wander(time_s, 0.004, self._phase)
        )
        response = physics.low_pass(hertz, 90_000) * physics.high_pass(hertz, 3)
        return source * physics.gain(gain_db) * response + physics.volts(-78)


LINE_AMPLIFIER = Scenario(
    name="line-amplifier",
    summary="two channels, gain trims that must match, common supply",
    unit=LineAmplifier,
    points={
        "input": Point(show="dBu"),
        "left": Point(kind=Kind.BENCH_METER, show="dBu"),
        "right": Point(kind=Kind.BENCH_METER, show="dBu"),
    },
    steps={
        "warm-up": WARM,
        "tone": StepPlan(controls=tone(level_dbu=-10.0), knob=LEVEL),
        "trim-left": StepPlan(knob=LEFT),
        "match": StepPlan(knob=RIGHT),
        **{
            f"response-{side}": StepPlan(rows={row: tone(hertz) for row, hertz in ROWS_HZ.items()})
            for side in ("left", "right")
        },
        "quiet": StepPlan(controls={"oscillator": False}),
    },
)
