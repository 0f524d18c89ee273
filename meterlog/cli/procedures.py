"""meterlog procedure check, procedure schema: what is wrong with procedure files, and what may be in one."""

import json
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from meterlog.bench import Bench, load_bench
from meterlog.cli.complain import BAD_INPUT, say
from meterlog.daemon.fit import problems_on
from meterlog.files import NO_REFERENCES, Problem, Severity
from meterlog.procedure import (
    Procedure,
    ProcedureError,
    load_procedure,
    plan_of,
    procedure_schema,
    warnings_in,
)

Files = Annotated[list[Path], typer.Argument(help="The files to check.")]
BenchFile = Annotated[
    Path | None, typer.Option("--bench", help="The bench file whose levels, channels and meters count.")
]
AsJson = Annotated[
    bool, typer.Option("--json", help="One array of objects: file, line, field, severity, message.")
]


def add_to(app: typer.Typer) -> None:
    procedure = typer.Typer(help="Procedure files.", no_args_is_help=True)
    procedure.command("check")(check)
    procedure.command("schema")(schema)
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
