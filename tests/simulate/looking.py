"""A glance at the engine's own view, where no page stands between it and the technician."""

from collections.abc import Mapping

from meterlog.procedure.view import Direction, View
from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.look import Look


def look_of(view: View, shown: Mapping[str, float | None], bench: SimulatedBench, at_s: float) -> Look:
    """`shown`: what each channel's meter displays now."""
    guide = view.guide
    return Look(
        at_s=at_s,
        step=view.step,
        pattern=view.pattern,
        pass_name=view.pass_,
        phase=guide.phase,
        volts=shown.get(guide.channel),
        target_volts=guide.target,
        low_volts=guide.low,
        high_volts=guide.high,
        let_go=guide.direction is Direction.HOLD,
        awaiting_go_on=guide.awaiting_go_on,
        lamp=bench.now().lit,
        says=guide.do_now,
        asks_for=guide.asks_for,
        wants_source=guide.source is not None,
        controls=bench.now().controls,
        pointers=bench.unit.pointers(bench.now(), bench.now_s()),
    )
