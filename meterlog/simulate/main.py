"""The command `meterlog-simulate`."""

import json
import signal
import sys
import threading
from pathlib import Path
from typing import Annotated

import typer

from meterlog.simulate.errors import SimulateError
from meterlog.simulate.rig import Rig
from meterlog.simulate.scenarios import SCENARIOS, find

app = typer.Typer(
    help="A simulated bench: units to align, and their meters on real wires.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)


@app.command("list")
def list_scenarios() -> None:
    """What can be put on the bench."""
    for name, scenario in SCENARIOS.items():
        print(f"{name:24} {scenario.summary}")


@app.command("run")
def run_bench(
    folder: Annotated[Path, typer.Option(help="For the bench file and the meters' ports; made if missing.")],
    scenario: Annotated[str, typer.Option(help="What stands on the bench; see `list`.")] = "tape-machine",
    seed: Annotated[int, typer.Option(help="Equal seeds give equal noise.")] = 0,
    port: Annotated[int, typer.Option(min=0, max=65535, help="Of the control page; 0: any free one.")] = 0,
    meter_port: Annotated[
        int, typer.Option(min=0, max=65535, help="Of the first bench meter; 0: any free one.")
    ] = 0,
) -> None:
    """Run the bench until interrupted. Prints one line of JSON that says where everything is."""
    stop = threading.Event()
    for signal_number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(signal_number, lambda *_: stop.set())
    try:
        with Rig(folder, seed, find(scenario), control_port=port, meter_port=meter_port) as rig:
            print(json.dumps(rig.places), flush=True)
            stop.wait()
    except (SimulateError, OSError) as error:
        print(f"meterlog-simulate: {error}", file=sys.stderr)
        raise typer.Exit(1) from error


def run() -> None:
    """Entry point of the package."""
    app()


if __name__ == "__main__":
    run()
