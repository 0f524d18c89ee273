"""meterlog procedure check, bench check, drivers: before anything is switched on."""

from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from meterlog.bench import BenchError, installed_drivers, load_bench, load_driver
from meterlog.cli.complain import BAD_INPUT, say
from meterlog.procedure import Procedure, ProcedureError, load_procedure, plan_of
from meterlog.quantity import References

BenchFile = Annotated[
    Path | None, typer.Option("--bench", help="The bench file whose levels and channels count.")
]


def add_to(app: typer.Typer) -> None:
    procedure = typer.Typer(help="Procedure files.", no_args_is_help=True)
    procedure.command("check")(check_procedures)
    bench = typer.Typer(help="Bench files.", no_args_is_help=True)
    bench.callback()(lambda: None)  # keeps `check` a command of its own although it is the only one
    procedure.callback()(lambda: None)
    bench.command("check")(check_bench)
    app.add_typer(procedure, name="procedure")
    app.add_typer(bench, name="bench")
    app.command()(drivers)


def check_procedures(
    files: Annotated[list[Path], typer.Argument(help="The files to check.")], bench: BenchFile = None
) -> None:
    """Say everything that is wrong with procedure files: file, line, field, what was expected."""
    references = load_bench(bench).references if bench else References()
    sound = [_sound(path, references) for path in files]
    if not all(sound):
        raise typer.Exit(BAD_INPUT)


def check_bench(file: Annotated[Path, typer.Argument(help="The file to check.")]) -> None:
    """Say what is wrong with a bench file, or what it offers. No meter is touched."""
    bench = load_bench(file)
    table = Table("channel", "meter", "function", "coupling", "shown in", title=bench.name)
    for channel in bench.channels:
        shown = channel.show.symbol if channel.show else ""
        table.add_row(channel.name, channel.meter, channel.function, str(channel.coupling), shown)
    Console().print(table)


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


def _sound(path: Path, references: References) -> bool:
    try:
        print(f"{path}: {_summary(load_procedure(path, references))}")
    except ProcedureError as error:
        for problem in error.problems:
            say(str(problem))
        return False
    return True


def _summary(procedure: Procedure) -> str:
    places = len(plan_of(procedure))
    title = f"{procedure.title}, revision {procedure.revision}"
    return f"{title}: {len(procedure.steps)} steps, {places} in its plan"
