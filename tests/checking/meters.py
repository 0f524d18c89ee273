"""A simulated bench meter on a real socket, and a bench file for it. All figures are invented."""

from collections.abc import Iterator
from contextlib import contextmanager

from meterlog.simulate.clock import RunningClock
from meterlog.simulate.meter import MeterModel
from meterlog.simulate.scpi_meter import ScpiMeter
from meterlog.simulate.scpi_plans import AC, DC, FREQUENCY, PLANS
from meterlog.simulate.scpi_server import ScpiServer

DC_V, AC_V = 10.00006, 0.7746
SERIAL = "S-001"  # what the simulated meter says of itself


@contextmanager
def bench_meter(gain: float = 1.0) -> Iterator[ScpiServer]:
    """It reads DC_V and AC_V, and shows `gain` times that."""
    clock = RunningClock()
    signals = {DC: DC_V, AC: AC_V, FREQUENCY: 1000.0}
    models = {
        name: MeterModel(PLANS[name], lambda _, level=level: level, name)  # type: ignore[misc]
        for name, level in signals.items()
    }
    for model in models.values():
        model.gain = gain
    server = ScpiServer("bench meter", lambda wait: ScpiMeter(models, clock, wait))
    server.start()
    try:
        yield server
    finally:
        server.close()


def bench_text(*addresses: str) -> str:
    """One meter for each address, "bench meter" and "second meter", each with a DC and an AC channel."""
    names = ("bench meter", "second meter")
    meters = [
        f'[[meter]]\nname = "{name}"\ndriver = "scpi"\naddress = "{address}"\n'
        f'specification = "bench-6.5-digits"\ncalibrated = 2026-10-01\n'
        f'[[channel]]\nname = "{name} dc"\nmeter = "{name}"\ncoupling = "dc"\nrange = "10 V"\n'
        for name, address in zip(names, addresses, strict=False)
    ]
    return '[bench]\nname = "Check bench"\n' + "".join(meters)
