"""The reproduce side of a two-track tape machine at 190 mm/s on quarter-inch tape. Invented values.

* azimuth between two tracks 4.0 mm apart: their sum falls as cos(phase / 2); one arc-minute is 22 degrees at
  10 kHz, as makers of calibration tapes publish. Each track falls as sin(x)/x over its width of 2 mm, so the
  sum has side peaks 4 dB down at 10 kHz, and none within the travel at 3 kHz
* an equaliser trim for each track, 0 dB at 1 kHz; the level trim moves every frequency alike
"""

import math
from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import WARM
from meterlog.simulate.unit import Choice, Control, Plain, Positions, TrimmerPlan

SPEED_M_S, TRACK_M, APART_M = 0.1905, 2.0e-3, 4.0e-3
TRAVEL_RAD, TRUE_PLACE = math.radians(0.8), 0.56
STOPPED = "stopped"
RESPONSE_HZ = {
    "63 Hz": 63.0,
    "125 Hz": 125.0,
    "1 kHz": 1000.0,
    "4 kHz": 4000.0,
    "8 kHz": 8000.0,
    "10 kHz": 10_000.0,
    "12.5 kHz": 12_500.0,
}
SECTIONS = {
    "azimuth 3 kHz": (3000.0, -10.0),
    "azimuth 10 kHz": (10_000.0, -10.0),
    "reference 1 kHz": (1000.0, 0.0),
    **{f"response {name}": (hertz, -20.0) for name, hertz in RESPONSE_HZ.items()},
}
"""The tape's sections: frequency, and level about the reference."""
AZIMUTH = Knob(name="azimuth", speed=0.05, sweep=0.025)


class TapeReproduce(Plain):
    name = "two-track tape machine, reproduce side"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            "azimuth": TrimmerPlan(hint="screw beside the reproduce head", start=0.30, turns=4),
            "level left": TrimmerPlan(hint="line amplifier, left", start=0.58),
            "level right": TrimmerPlan(hint="line amplifier, right", start=0.37),
            "equaliser left": TrimmerPlan(hint="high frequencies, left", start=0.35),
            "equaliser right": TrimmerPlan(hint="high frequencies, right", start=0.64),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType({"section": Choice(STOPPED, (STOPPED, *SECTIONS))})

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        section = str(now.controls["section"])
        if section not in SECTIONS:
            return {**dict.fromkeys(("left", "right", "sum"), physics.volts(-60)), "counter": 0.0}
        hertz, level_db = SECTIONS[section]
        tilt = math.tan((now.wiper("azimuth") - TRUE_PLACE) * TRAVEL_RAD)
        unrest_db = physics.wander(time_s, 0.015 if hertz < 5000 else 0.04, self._phase)
        left, right = (
            physics.volts(4 + level_db + _track_db(now, side, hertz, tilt) + unrest_db)
            for side in ("left", "right")
        )
        phase = math.tau * hertz * APART_M * tilt / SPEED_M_S
        mono = math.sqrt(max(0.0, left**2 + right**2 + 2 * left * right * math.cos(phase))) / 2
        return {"left": left, "right": right, "sum": math.hypot(mono, physics.volts(-60)), "counter": hertz}


def _track_db(now: Positions, side: str, hertz: float, tilt: float) -> float:
    x = math.pi * TRACK_M * tilt * hertz / SPEED_M_S
    gap_db = 20 * math.log10(max(abs(math.sin(x) / x), 1e-4)) if x else 0.0
    treble = (hertz / 10_000) ** 2 / (1 + (hertz / 10_000) ** 2) - 0.0099
    equaliser_db = 12 * treble * (now.wiper(f"equaliser {side}") - 0.5)
    return gap_db + 12 * (now.wiper(f"level {side}") - 0.46) + equaliser_db


def _playing(section: str, knob: Knob | None = None) -> StepPlan:
    return StepPlan(controls={"section": section}, knob=knob)


TAPE_REPRODUCE = Scenario(
    name="tape-reproduce",
    summary="two tracks: azimuth coarse and fine, levels, equalisers, match",
    unit=TapeReproduce,
    points={
        "left": Point(kind=Kind.BENCH_METER, show="dBu"),
        "right": Point(kind=Kind.BENCH_METER, show="dBu"),
        "sum": Point(kind=Kind.BENCH_METER, show="dBu"),
        "counter": Point(kind=Kind.BENCH_METER, function="frequency", coupling="", show="kHz"),
    },
    steps={
        "warm-up": WARM,
        "azimuth": StepPlan(
            controls={"section": "azimuth 10 kHz"}, coarse={"section": "azimuth 3 kHz"}, knob=AZIMUTH
        ),
        "level-left": _playing("reference 1 kHz", Knob(name="level left")),
        "match": _playing("reference 1 kHz", Knob(name="level right")),
        **{
            f"equaliser-{side}": _playing("response 10 kHz", Knob(name=f"equaliser {side}"))
            for side in ("left", "right")
        },
        **{
            f"response-{side}": StepPlan(rows={name: {"section": f"response {name}"} for name in RESPONSE_HZ})
            for side in ("left", "right")
        },
    },
)
