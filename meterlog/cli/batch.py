"""meterlog batch: how far a batch of units has come, from the record. No daemon is needed."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.table import Table

from meterlog.cli.options import Data
from meterlog.records import DataFolder

if TYPE_CHECKING:
    from meterlog.report.batch import BatchReport, StepLine


def add_to(app: typer.Typer) -> None:
    app.command()(batch)


def batch(
    file: Annotated[Path, typer.Argument(help="The file of the batch: its units and their procedure.")],
    data: Data = None,
) -> None:
    """Show a batch: units against steps, first-time yield, spread, outliers by Grubbs, pairs."""
    from meterlog.report.batch import batch_report  # noqa: PLC0415 - charts are slow to load
    from meterlog.report.batch_file import load_batch  # noqa: PLC0415

    report = batch_report(DataFolder(data).open_existing(), load_batch(file))
    console = Console()
    console.print(_units(report))
    for table in _steps(report):
        console.print(table)
    for line in _sentences(report):
        console.print(line, highlight=False)


def _units(report: "BatchReport") -> Table:
    table = Table("unit", "session", "standing", "first time", title=report.batch.name)
    for unit in report.units:
        session = "" if unit.session is None else str(unit.session)
        table.add_row(unit.serial, session, unit.standing, "yes" if unit.first_time else "")
    return table


def _steps(report: "BatchReport") -> list[Table]:
    if not report.steps:
        return []
    values = Table("step", *(unit.serial for unit in report.units), title="As left")
    for step in report.steps:
        values.add_row(f"{step.title}, {step.unit}", *(step.cells.get(u.serial, "") for u in report.units))
    over_all = Table("step", "units", "median", "standard deviation", "Cpk", "apart", title="Over all units")
    for step in report.steps:
        over_all.add_row(*_over_all(step))
    return [values, over_all]


def _over_all(step: "StepLine") -> tuple[str, ...]:
    spread = "" if step.spread is None else f"{step.spread:.3g}"
    cpk = "" if step.cpk is None else f"{step.cpk:.2f}"
    apart = "" if step.apart is None else f"{step.apart[0]} ({step.apart[1]})"
    return f"{step.title}, {step.unit}", str(step.count), step.median, spread, cpk, apart


def _sentences(report: "BatchReport") -> list[str]:
    total, done = len(report.units), report.done
    lines = [f"{done} of {total} units are done, {report.passed} passed, {report.first_time} the first time."]
    if done:
        lines.append(f"First-time yield {100 * report.first_time / done:.0f} %.")
    if report.next_serial:
        lines.append(f"Next: {report.next_serial}.")
    lines += [f"Pair: {one} with {other}, {apart} apart." for one, other, apart in report.pairs]
    return lines
