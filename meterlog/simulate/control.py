"""What can be asked of the running bench, as plain data: the page, the technician and tests ask here."""

from collections.abc import Callable, Mapping
from dataclasses import asdict

from meterlog.simulate import faults
from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.errors import SimulateError
from meterlog.simulate.faults import Port

Answer = Mapping[str, object]


class Control:
    """Every method returns data for JSON; bad input raises SimulateError with a text for the person."""

    def __init__(self, bench: SimulatedBench, ports: Mapping[str, Port]) -> None:
        self._bench, self._ports = bench, ports
        self.asked: Mapping[str, Callable[[], Answer]] = {"/state": self.state, "/scene": self.scene}
        self.told: Mapping[str, Callable[[Mapping[str, object]], Answer]] = {
            "/turn": self.turn,
            "/set": self.set,
            "/fault": self.fault,
        }

    def state(self) -> Answer:
        """Where everything stands, and the true volts (which nobody at a real bench can see)."""
        bench = self._bench
        positions, now_s = bench.now(), bench.now_s()
        return {
            "time_s": now_s,
            "trimmers": {name: trimmer.shaft for name, trimmer in positions.trimmers.items()},
            "controls": dict(positions.controls),
            "outputs": dict(bench.outputs(now_s)),
            "lamp": positions.lit,
            "pointers": dict(bench.unit.pointers(positions, now_s)),
            "meters": {name: faults.describe(port) for name, port in self._ports.items()},
        }

    def scene(self) -> Answer:
        """What there is to turn and to set; this never changes while the bench runs."""
        unit = self._bench.unit
        return {
            "unit": unit.name,
            "trimmers": {name: asdict(plan) for name, plan in unit.trimmers.items()},
            "controls": {name: asdict(control) for name, control in unit.controls.items()},
        }

    def turn(self, asked: Mapping[str, object]) -> Answer:
        """{"trimmer": name, "by": share of travel} or {"trimmer": name, "to": 0 to 1}."""
        name = asked.get("trimmer")
        if not isinstance(name, str) or len(asked) != 2 or not {"to", "by"} & set(asked):
            raise SimulateError('a turn is {"trimmer": name, "by": share} or {"trimmer": name, "to": 0 to 1}')
        if "by" in asked:
            return {"trimmer": name, "to": self._bench.turn(name, by=_share(asked, "by", -1.0))}
        return {"trimmer": name, "to": self._bench.turn_to(name, _share(asked, "to", 0.0))}

    def set(self, asked: Mapping[str, object]) -> Answer:
        """{control: value, ...}; all are set, or none."""
        self._bench.set(asked)
        return {"controls": dict(self._bench.now().controls)}

    def fault(self, asked: Mapping[str, object]) -> Answer:
        """{"meter": name, and any of "plugged", "silent", "late_s", "noise_bytes"}."""
        wanted = dict(asked)
        port = self._ports.get(str(wanted.pop("meter", "")))
        if port is None:
            raise SimulateError(f"a fault needs a meter: one of {', '.join(self._ports)}")
        faults.apply(port, wanted)
        return faults.describe(port)


def _share(asked: Mapping[str, object], key: str, low: float) -> float:
    value = asked[key]
    if isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= 1.0:
        return float(value)
    raise SimulateError(f"{key}: {value!r} is no share of the travel from {low:g} to 1")
