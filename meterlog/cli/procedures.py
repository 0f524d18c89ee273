"""meterlog procedure check, schema, fit: what is wrong with procedure files, what may be in one, and whether
the meters of a bench are good enough for it."""

import json
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from meterlog.accuracy.fitness import Fit
from meterlog.bench import Bench, load_bench
from meterlog.cli.complain import BAD_INPUT, say
from meterlog.cli.working import environment
from meterlog.daemon.fit import fit_json, place_of, problems_on, step_fits
from meterlog.files import NO_REFERENCES, Problem, Severity
from meterlog.procedure import (
    Procedure,
    ProcedureError,
    StepFit,
    load_procedure,
    plan_of,
    procedure_schema,
    warnings_in,
)

Files = Annotated[list[Path], typer.Argument(help="The files to check.")]
BenchFile = Annotated[
    Path | None, typer.Option("--bench", help="The bench file whose levels, channels and meters count.")
]
AsJson = Annotated[bool, typer.Option("--json", help="One array of objects, for programs.")]


def add_to(app: typer.Typer) -> None:
    procedure = typer.Typer(help="Procedure files.", no_args_is_help=True)
    procedure.command("check")(check)
    procedure.command("schema")(schema)
    procedure.command("fit")(fit)
    app.add_typer(procedure, name="procedure")


def check(files: Files, bench: BenchFile = None, as_json: AsJson = False) -> None:
    """Say everything that is wrong with procedure files: file, line, field, what would be right.

    Exit code 0: no errors, perhaps warnings; 2: errors, or something else that was given is wrong.
    """
    on = load_bench(bench) if bench else None
    checked = [(path, *_checked(path, on)) for path in files]
    problems = [problem for *_, found in checked for problem in found]
    if as_json:
        print(json.dumps([asdict(problem) for problem in problems], indent=2))
    else:
        _tell((path, procedure) for path, procedure, _ in checked)
        for problem in problems:
            say(str(problem))
    if any(problem.severity is Severity.ERROR for problem in problems):
        raise typer.Exit(BAD_INPUT)


def schema() -> None:
    """Print the JSON Schema of procedure files, for editors that complete and check while one writes."""
    print(json.dumps(procedure_schema(), indent=2))


def fit(
    file: Annotated[Path, typer.Argument(help="The procedure.")],
    bench: Annotated[Path, typer.Option("--bench", help="The bench file that says which meters there are.")],
    temperature: Annotated[float | None, typer.Option(help="Of the bench, degC.", show_default=False)] = None,
    as_json: AsJson = False,
) -> None:
    """Whether the meters of a bench are good enough for each step: ratio of the window to their uncertainty.

    Exit code 0: none is known to be too poor; 2: one is, or the files are wrong.
    """
    on = load_bench(bench)
    procedure = load_procedure(file, on.references)
    fits = step_fits(on, procedure, environment(temperature, None).temperature_c)
    if as_json:
        print(json.dumps([fit_json(one) for one in fits], indent=2))
    else:
        _print_fits(procedure.title, fits)
    if any(one.fitness.fit is Fit.NOT_ADEQUATE for one in fits):
        raise typer.Exit(BAD_INPUT)


_FIT = {
    "place": "step",
    "channel": "channel",
    "level": "level",
    "frequency": "frequency",
    "ratio": "ratio",
    "counts": "counts",
    "fit": "meter is",
    "accepted_percent": "passes in, %",
    "false_accept_percent": "wrongly passed, %",
    "worst_false_accept_percent": "at worst, %",
}
"""The columns of the table, by their keys; what is told in words stands below it. The part of the window that
passes is left out where the limits alone decide: it would say 100."""
_MAY_BREAK = ("place", "channel")
"""Names of any length; they break first in a narrow terminal."""
_IN_WORDS = ("supposed", "profile", "why")


def _print_fits(title: str, fits: list[StepFit]) -> None:
    table = Table(title=title, box=SIMPLE_HEAD, padding=0, show_edge=False)
    rows = [{**fit_json(one), "place": place_of(one)} for one in fits]
    by_limits = all(row["accepted_percent"] in (None, 100.0) for row in rows)
    columns = [key for key in _FIT if key != "accepted_percent" or not by_limits]
    for key in columns:
        table.add_column(_FIT[key].replace(" ", "\n"), overflow="fold", min_width=_longest_word(key, rows))
    for row in rows:
        table.add_row(*(_cell(row, key) for key in columns))
    Console().print(table)
    for row in rows:
        if words := [row[key] for key in _IN_WORDS if row[key]]:
            print(f"{row['place']}: {'; '.join(words)}")
    if not fits:
        print("No step of it has a window on a channel whose meter is described (specification = ... there).")


def _cell(row: dict[str, Any], key: str) -> str:
    return "" if row[key] is None else str(row[key])


def _longest_word(key: str, rows: list[dict[str, Any]]) -> int:
    words = _FIT[key].split()
    if key not in _MAY_BREAK:
        words += [word for row in rows for word in _cell(row, key).split()]
    return max(map(len, words))


def _checked(path: Path, bench: Bench | None) -> tuple[Procedure | None, list[Problem]]:
    """The procedure, if the file is sound by itself."""
    try:
        procedure = load_procedure(path, bench.references if bench else NO_REFERENCES)
    except ProcedureError as error:
        return None, error.problems
    on_bench = problems_on(bench, procedure, str(path)) if bench else []
    return procedure, [*warnings_in(procedure, str(path)), *on_bench]


def _tell(checked: Iterable[tuple[Path, Procedure | None]]) -> None:
    for path, procedure in checked:
        if procedure is not None:
            title = f"{procedure.title}, revision {procedure.revision}"
            print(f"{path}: {title}: {len(procedure.steps)} steps, {len(plan_of(procedure))} in its plan")
