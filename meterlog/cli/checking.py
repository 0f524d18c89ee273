"""meterlog bench check, drivers: before anything is switched on."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from meterlog.bench import (
    BenchError,
    check_drivers,
    doubts_about,
    installed_drivers,
    load_bench,
    load_driver,
)
from meterlog.cli.complain import say


def add_to(app: typer.Typer) -> None:
    bench = typer.Typer(help="Bench files.", no_args_is_help=True)
    bench.command("check")(check_bench)
    bench.callback()(lambda: None)  # keeps `check` a command of its own although it is the only one
    app.add_typer(bench, name="bench")
    app.command()(drivers)


def check_bench(file: Annotated[Path, typer.Argument(help="The file to check.")]) -> None:
    """Say what is wrong with a bench file, or what it offers. No meter is touched."""
    bench = load_bench(file)
    check_drivers(bench, file)
    table = Table("channel", "meter", "function", "coupling", "shown in", title=bench.name)
    for channel in bench.channels:
        shown = channel.show.symbol if channel.show else ""
        table.add_row(channel.name, channel.meter, channel.function, str(channel.coupling), shown)
    Console().print(table)
    for problem in doubts_about(bench, str(file), datetime.now(UTC).date()):
        say(str(problem))


def drivers() -> None:
    """List the installed drivers, and how far each has been proven."""
    table = Table("driver", "for", "proven", "from")
    for name, entry in sorted(installed_drivers().items()):
        table.add_row(name, *_described(name), entry.value)
    Console().print(table)


def _described(name: str) -> tuple[str, str]:
    """A driver that cannot be loaded is still in the list, with the reason."""
    try:
        driver = load_driver(name)
    except BenchError as error:
        return str(error), "cannot be loaded"
    return driver.summary, str(driver.maturity)
