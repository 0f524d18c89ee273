"""The command `meterlog-demo`: everything that the README's first command shows."""

import json
import subprocess
import sys
import time
import webbrowser
from pathlib import Path
from typing import Annotated, Any

import httpx
import typer
from rich.console import Console
from websockets.sync.client import connect

from meterlog.demo.eyes import BenchControls, LiveView, Person
from meterlog.demo.programs import DemoError, Programs
from meterlog.demo.progress import Progress
from meterlog.demo.results import print_results
from meterlog.errors import MeterlogError
from meterlog.simulate.scenarios.tape_machine_steps import STEPS
from meterlog.simulate.technician import Technician

PROCEDURE = "tape-machine"
UNIT = {
    "unit_model": "Open-reel tape machine (simulated)",
    "unit_serial": "DEMO-1",
    "operator": "simulated technician",
}
_GLANCE_S = 0.05
_LIMIT_S = 600.0


def demo(
    context: typer.Context,
    folder: Annotated[Path, typer.Option(help="Where the demonstration keeps its data.")] = Path("demo-data"),
    live: Annotated[bool, typer.Option("--live", help="Open the page and do it by hand.")] = False,
) -> None:
    """Align a simulated tape machine: by itself, or with --live by your own hand on the page."""
    if context.invoked_subcommand is not None:
        return
    console = Console()
    try:
        with Programs(folder.absolute()) as programs:
            note = json.loads((programs.data / "daemon.json").read_text(encoding="utf-8"))
            verdict = _by_hand(console, note) if live else _by_itself(console, programs, note)
    except (MeterlogError, httpx.HTTPError) as error:
        console.print(f"[bold red]The demonstration stopped:[/] {error}")
        raise typer.Exit(1) from error
    raise typer.Exit(0 if verdict else 1)


def _by_hand(console: Console, note: dict[str, Any]) -> bool:
    url = note["url"]
    console.print(
        f"The bench page is at [bold]{url}[/]; the simulated bench's trimmers are on it. Ctrl-C ends."
    )
    webbrowser.open(url)
    try:
        while True:
            time.sleep(1.0)
    except KeyboardInterrupt:
        return True


def _by_itself(console: Console, programs: Programs, note: dict[str, Any]) -> bool:
    headers = {"X-Meterlog-Token": note["token"]}
    with httpx.Client(base_url=note["url"], headers=headers, timeout=30.0) as daemon:
        programs.daemon.wait_for("all meters were live", lambda: _all_live(daemon))
        began_s = time.monotonic()
        session = _begin(daemon)
        live_url = note["url"].replace("http", "ws", 1).rstrip("/") + "/api/live"
        with connect(live_url, max_size=None) as socket, Progress(console) as progress:
            verdict = _work(programs.control_url, daemon, LiveView(socket), progress)
        console.print(f"Session {session}: the alignment took {time.monotonic() - began_s:.0f} s.")
    _show(console, programs.data, session, verdict)
    return verdict == "pass"


def _all_live(daemon: httpx.Client) -> bool:
    links = daemon.get("/api/status").raise_for_status().json()["links"]
    return bool(links) and all(link["state"] == "live" for link in links)


def _begin(daemon: httpx.Client) -> int:
    answer = daemon.post("/api/sessions", json={"procedure": PROCEDURE} | UNIT)
    if answer.is_error:
        raise DemoError(f"the session could not begin: {answer.text}")
    return int(answer.json()["id"])


def _work(control_url: str, daemon: httpx.Client, view: LiveView, progress: Progress) -> str:
    """Let the technician look and act until the session has ended; its verdict."""
    controls = BenchControls(control_url)
    technician = Technician(STEPS, Person(controls, daemon), seed=1)
    end_s = time.monotonic() + _LIMIT_S
    try:
        while view.ended is None:
            view.refresh(_GLANCE_S)
            if look := view.look(controls.lamp()):
                technician.see(look)
            progress.show(view)
            if time.monotonic() > end_s:
                raise DemoError(f"no end after {_LIMIT_S:.0f} s; it stands at {view.live['view']['title']}")
    finally:
        controls.close()
    return str(view.ended["verdict"])


def _show(console: Console, data: Path, session: int, verdict: str) -> None:
    """Report, exports and replay through the command line, as a user would ask for them."""
    made = {
        "report": data / f"session-{session}.html",
        "csv": data / f"session-{session}.csv",
        "xlsx": data / f"session-{session}.xlsx",
        "jsonl": data / f"session-{session}.jsonl",
    }
    _meterlog(data, "report", str(session), "--output", str(made["report"]))
    for kind in ("csv", "xlsx", "jsonl"):
        _meterlog(data, "export", str(session), "--format", kind, "--output", str(made[kind]))
    replay = _meterlog(data, "replay", str(session))
    print_results(console, made["jsonl"], verdict)
    console.print(replay.strip())
    for path in made.values():
        console.print(str(path), soft_wrap=True, highlight=False)


def _meterlog(data: Path, *arguments: str) -> str:
    command = [sys.executable, "-m", "meterlog.cli.main", *arguments, "--data", str(data)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603 - our own module
    if done.returncode:
        raise DemoError(f"meterlog {' '.join(arguments)}: {done.stderr.strip() or done.stdout.strip()}")
    return done.stdout


def drifting(
    folder: Annotated[
        Path | None, typer.Option(help="A new folder for its record; else a temporary one.")
    ] = None,
) -> None:
    """A meter that begins to drift, and the week in which the charts of its checks find it."""
    from meterlog.demo.drift import drift  # noqa: PLC0415 - charts are slow to load

    try:
        drift(folder)
    except MeterlogError as error:
        Console().print(f"[bold red]The demonstration stopped:[/] {error}")
        raise typer.Exit(1) from error


def run() -> None:
    """Entry point of the package."""
    app = typer.Typer(add_completion=False)
    app.callback(invoke_without_command=True)(demo)
    app.command("drift")(drifting)
    app()


if __name__ == "__main__":
    run()
