"""The meter for each point of a scenario: as a model, on its wire, and as the bench file names it."""

from collections.abc import Mapping
from pathlib import Path

from meterlog.simulate import handheld, scpi_plans
from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.bench_file import Entry
from meterlog.simulate.clock import Clock
from meterlog.simulate.faults import Port
from meterlog.simulate.handheld import Handheld
from meterlog.simulate.meter import MeterModel, MeterPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scpi_meter import ScpiMeter, Wait
from meterlog.simulate.scpi_server import ScpiServer

DC_REST_V = 0.0003
"""What a bench meter shows on the coupling that its channel does not use: a rest behind a capacitor."""


def function_of(point: Point) -> str:
    """Which of the bench meter's functions a point needs."""
    if point.function == "frequency":
        return scpi_plans.FREQUENCY
    return scpi_plans.AC if point.coupling == "ac" else scpi_plans.DC


def plan_of(point: Point) -> MeterPlan:
    """How good the meter is that a point is measured with."""
    if point.kind is Kind.HANDHELD:
        return handheld.AC_PLAN if point.coupling == "ac" else handheld.DC_PLAN
    return scpi_plans.PLANS[function_of(point)]


def specification_of(point: Point) -> str:
    """The class of meters that it is one of, by the name of its shipped file."""
    if point.kind is Kind.HANDHELD:
        return "handheld-4000"
    return "counter-6-digits" if point.function == "frequency" else "bench-6.5-digits"


def serial_of(scenario: Scenario, name: str) -> str:
    """What stands on the plate of the meter at a point, by its place in the scenario."""
    return f"S-{1 + list(scenario.points).index(name):03d}"


def identity_of(scenario: Scenario, name: str) -> str:
    """What the bench meter at a point says of itself: maker, model, serial number, version (IEEE 488.2)."""
    model = "counter" if scenario.points[name].function == "frequency" else "6.5-digit meter"
    return f"SIMULATED BENCH,{model},{serial_of(scenario, name)},1.0"


def period_s(point: Point) -> float:
    """From one reading to the next."""
    return handheld.FRAME_S if point.kind is Kind.HANDHELD else scpi_plans.MEASURING_S[20.0]


def model_of(name: str, point: Point, bench: SimulatedBench, seed: int) -> MeterModel:
    """A meter that looks at a point; nobody has set it up yet."""
    return MeterModel(plan_of(point), bench.signal(name), f"{seed} {name}")


def ports_of(
    scenario: Scenario, bench: SimulatedBench, clock: Clock, folder: Path, *, seed: int, meter_port: int
) -> Mapping[str, Port]:
    """Every meter on its wire, by the name of its point. `meter_port` is the first bench meter's."""
    ports: dict[str, Port] = {}
    for name, point in scenario.points.items():
        model = model_of(name, point, bench, seed)
        if point.kind is Kind.HANDHELD:
            link = (folder / f"{name}-meter").absolute()
            ports[name] = Handheld(scenario.meter_name(name), model, point.coupling, link, clock)
        else:
            ports[name] = _bench_meter(scenario, name, model, clock, meter_port)
            meter_port = 0
    return ports


def _bench_meter(scenario: Scenario, name: str, model: MeterModel, clock: Clock, port: int) -> ScpiServer:
    meter, identity = scenario.meter_name(name), identity_of(scenario, name)
    rests = {
        other: MeterModel(plan, lambda _: DC_REST_V, f"{meter} {other}")
        for other, plan in scpi_plans.PLANS.items()
    }
    models = {**rests, function_of(scenario.points[name]): model}

    def make(wait: Wait) -> ScpiMeter:
        return ScpiMeter(models, clock, lambda seconds: wait(seconds / clock.speed), identity)

    return ScpiServer(meter, make, port)


def entry_of(scenario: Scenario, name: str, address: str) -> Entry:
    """What the bench file says of a point and its meter."""
    point, meter = scenario.points[name], scenario.meter_name(name)
    channel = {"name": name, "meter": meter, "function": point.function}
    if point.coupling:
        channel["coupling"] = point.coupling
    told = {"serial_number": serial_of(scenario, name), "specification": specification_of(point)}
    if point.kind is Kind.HANDHELD:
        head = {"name": meter, "driver": "fs9721", "address": address, **told}
        return Entry(head, {**channel, "show": point.show})
    head = {"name": meter, "driver": "scpi", "address": address, "identity": "SIMULATED BENCH", **told}
    return Entry(head, {**channel, **_range(point), "show": point.show}, _options(point))


def _range(point: Point) -> Mapping[str, str]:
    held = {"range": f"{point.full_scale:g} V"} if point.full_scale else {}
    return {**held, **({"ac_filter": "20 Hz"} if point.coupling == "ac" else {})}


def _options(point: Point) -> Mapping[str, float]:
    return {"resolution": point.full_scale / plan_of(point).counts} if point.full_scale else {}
