"""meterlog batch: how far a batch of units has come, from the record. No daemon is needed."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.table import Table

from meterlog.cli.options import Data, PaperName, paper_called
from meterlog.records import DataFolder

if TYPE_CHECKING:
    from meterlog.report.batch import BatchReport


def add_to(app: typer.Typer) -> None:
    app.command()(batch)


def batch(
    file: Annotated[Path, typer.Argument(help="The file of the batch: its units and their procedure.")],
    output: Annotated[Path | None, typer.Option("--output", "-o", help="PDF to write instead.")] = None,
    paper: PaperName = "a4",
    data: Data = None,
) -> None:
    """Show a batch: units against steps, first-time yield, spread, outliers by Grubbs, pairs."""
    from meterlog.report.batch import batch_report  # noqa: PLC0415 - charts are slow to load
    from meterlog.report.batch_file import load_batch  # noqa: PLC0415

    report = batch_report(DataFolder(data).open_existing(), load_batch(file))
    if output is None:
        _show(report)
    else:
        _write(report, output, paper)


def _write(report: "BatchReport", path: Path, paper: str) -> None:
    from meterlog.report.batch_pdf import write_batch  # noqa: PLC0415 - as above

    write_batch(report, path, paper_called(paper))
    print(path)


def _show(report: "BatchReport") -> None:
    from meterlog.report.batch_words import sentences  # noqa: PLC0415 - as above

    console = Console()
    console.print(_units(report))
    for table in _steps(report):
        console.print(table)
    for line in sentences(report):
        console.print(line, highlight=False)


def _units(report: "BatchReport") -> Table:
    table = Table("unit", "session", "standing", "first time", title=report.batch.name)
    for unit in report.units:
        session = "" if unit.session is None else str(unit.session)
        table.add_row(unit.serial, session, unit.standing, "yes" if unit.first_time else "")
    return table


def _steps(report: "BatchReport") -> list[Table]:
    from meterlog.report.batch_words import over_all  # noqa: PLC0415 - as above

    if not report.steps:
        return []
    values = Table("step", *(unit.serial for unit in report.units), title="As left")
    for step in report.steps:
        values.add_row(f"{step.title}, {step.unit}", *(step.cells.get(u.serial, "") for u in report.units))
    spread = Table("step", "units", "median", "standard deviation", "Cpk", "apart", title="Over all units")
    for step in report.steps:
        spread.add_row(*over_all(step))
    return [values, spread]
