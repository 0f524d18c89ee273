"""An audio interface's two line outputs: 0 dBFS at +18 dBu once its trims are right. Invented."""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import WARM
from meterlog.simulate.unit import Control, Dial, Plain, Positions, Switch, TrimmerPlan

FULL_SCALE_DBU = 18.0
ROWS_DBFS = {"line-up": -18.0, **{f"{dbfs} dBFS": float(dbfs) for dbfs in (0, -9, -28, -38)}}


class Interface(Plain):
    name = "audio interface, two line outputs"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            "output left": TrimmerPlan(hint="rear, left", start=0.63),
            "output right": TrimmerPlan(hint="rear, right", start=0.40),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType(
        {"playing": Switch(start=False), "level_dbfs": Dial(-60.0, -120.0, 0.0, "dBFS")}
    )

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        return {side: self._output(now, side, time_s) for side in ("left", "right")}

    def _output(self, now: Positions, side: str, time_s: float) -> float:
        level_dbu = float(now.controls["level_dbfs"]) + FULL_SCALE_DBU if now.controls["playing"] else -120.0
        trim_db = 6 * (now.wiper(f"output {side}") - 0.5) + physics.wander(time_s, 0.002, self._phase)
        return physics.volts(level_dbu + trim_db) + physics.volts(-92)


INTERFACE = Scenario(
    name="interface-level",
    summary="line outputs of an audio interface: dBFS to dBu, match",
    unit=Interface,
    points={
        "left": Point(kind=Kind.BENCH_METER, show="dBu"),
        "right": Point(kind=Kind.BENCH_METER, show="dBu"),
    },
    steps={
        "warm-up": WARM,
        "line-up-left": StepPlan(
            controls={"playing": True, "level_dbfs": -18.0}, knob=Knob(name="output left")
        ),
        "match": StepPlan(controls={"level_dbfs": -18.0}, knob=Knob(name="output right")),
        **{
            f"levels-{side}": StepPlan(rows={row: {"level_dbfs": dbfs} for row, dbfs in ROWS_DBFS.items()})
            for side in ("left", "right")
        },
    },
    levels={"dbfs": "+18 dBu"},
)
