"""meterlog instruments watch: the bytes of one line as they come, and what a driver makes of them."""

import threading
import time
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from typing import Annotated

import typer

from meterlog.bench import FUNCTION_UNITS, BenchError, SystemClock, load_driver, open_wire
from meterlog.bench.drivers import line_for
from meterlog.bench.find import holding, line_from, watch_bytes, watch_driver
from meterlog.cli.instrument_options import AsCoupling, Function, held_by_daemon, insist_on
from meterlog.cli.options import Data
from meterlog.reading import Coupling, Driver, Line, Settings


def watch(
    address: Annotated[str, typer.Argument(help="A port, or another address as in a bench file.")],
    *,
    driver: Annotated[str, typer.Option(help="Also show what this driver makes of it.")] = "",
    dialect: Annotated[str, typer.Option(help="The driver's dialect: a file, or a name it knows.")] = "",
    line: Annotated[str, typer.Option(help='How to open a port: "2400 8N1"; else as the driver says.')] = "",
    function: Function = "voltage",
    coupling: AsCoupling = "",
    seconds: Annotated[float, typer.Option(min=0.0, help="End after so many; 0: at Ctrl-C.")] = 0.0,
    data: Data = None,
) -> None:
    """Show what comes down one line as it comes: bytes («), what is sent (»), readings (=), complaints (!).

    With a driver the meter is set up as in a session; without one nothing is sent.
    """
    if busy := holding(held_by_daemon(data), address):
        raise BenchError(f"the daemon reads “{busy.instrument}” on this line; end it first")
    chosen = load_driver(driver) if driver else None
    settings = _settings(function, coupling, dialect)
    opened_as = line_from(line) if line else _line_of(chosen, settings)
    stop = threading.Event()
    ending = threading.Timer(seconds, stop.set)
    ending.daemon = True
    if seconds:
        ending.start()
    with closing(open_wire(address, opened_as)) as wire, suppress(KeyboardInterrupt):
        stop.wait(opened_as.quiet_s)
        if chosen is None:
            watch_bytes(wire, SystemClock(), tell=_timed(), stop=stop)
        else:
            watch_driver(wire, chosen, settings, SystemClock(), tell=_timed(), stop=stop)


def _timed() -> Callable[[str], None]:
    """Print with the seconds since now."""
    began_s = time.monotonic()
    return lambda text: print(f"{time.monotonic() - began_s:9.3f} {text}", flush=True)


def _settings(function: str, coupling: str, dialect: str) -> Settings:
    insist_on("--function", function, FUNCTION_UNITS)
    insist_on("--coupling", coupling, tuple(Coupling))
    path = str(Path(dialect).resolve()) if dialect.endswith(".toml") else dialect
    return Settings(function=function, coupling=Coupling(coupling), dialect=path)


def _line_of(driver: Driver | None, settings: Settings) -> Line:
    """What has no framing takes any line; a port needs one."""
    if driver is None:
        raise BenchError('say how to open the port, --line "2400 8N1", or name a --driver that knows')
    try:
        return line_for(driver, settings)
    except ValueError as error:
        raise BenchError(str(error)) from error
