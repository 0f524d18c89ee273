"""A phono equaliser: RIAA replay curve, 3180, 318 and 75 us (IEC 60098; the formula is textbook).

One resistor is 4 % off (invented), which shows as some tenths of a dB in the bass.
"""

import math
from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import LEVEL, WARM, tone
from meterlog.simulate.unit import Control, Plain, Positions, TrimmerPlan

LOW_S, MIDDLE_S, HIGH_S = 3180e-6, 318e-6, 75e-6
ROWS_HZ = (20.0, 30.0, 50.0, 70.0, 1e2, 2e2, 3e2, 5e2, 7e2, 1e3, 2e3, 3e3, 5e3, 7e3, 1e4, 1.5e4, 2e4)


def _named(hertz: float) -> str:
    return f"{hertz:g} Hz" if hertz < 1000 else f"{hertz / 1000:g} kHz"


def replay(hertz: float, low_s: float = LOW_S) -> float:
    """Magnitude of the replay curve, 1 at dc."""
    w = math.tau * hertz
    return math.hypot(1, w * MIDDLE_S) / math.hypot(1, w * low_s) / math.hypot(1, w * HIGH_S)


class Phono(Plain):
    name = "phono equaliser"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {"gain": TrimmerPlan(hint="gain trim", start=0.63)}
    )
    controls: Mapping[str, Control] = MappingProxyType(dict(physics.oscillator(level_dbu=-46.0)))

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        source = physics.source_volts(now, hum_dbu=-110)
        hertz = physics.frequency(now)
        curve = replay(hertz, 0.96 * LOW_S) / replay(1000.0)
        gain_db = 40 + 4 * (now.wiper("gain") - 0.5) + physics.wander(time_s, 0.003, self._phase)
        output = source * physics.gain(gain_db) * curve
        return {"input": source, "output": math.hypot(output, physics.volts(-70))}


PHONO = Scenario(
    name="phono-equaliser",
    summary="gain at 1 kHz and the RIAA replay curve",
    unit=Phono,
    driven_source=True,
    points={
        "input": Point(kind=Kind.BENCH_METER, show="mV", full_scale=0.1),
        "output": Point(kind=Kind.BENCH_METER, show="dBu"),
    },
    steps={
        "warm-up": WARM,
        "tone": StepPlan(controls=tone(level_dbu=-43.3), knob=LEVEL),
        "gain": StepPlan(knob=Knob(name="gain")),
        "curve": StepPlan(rows={_named(hertz): tone(hertz, level_dbu=-43.3) for hertz in ROWS_HZ}),
        "rest": StepPlan(controls={"oscillator": False}),
    },
)
