"""Options that several commands share."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from meterlog.report import Paper

Data = Annotated[
    Path | None,
    typer.Option(
        "--data", help="Folder with the record; else the system's own place for it.", show_default=False
    ),
]
Session = Annotated[int, typer.Argument(help="Number of the session; see: meterlog sessions.", min=1)]
Output = Annotated[
    Path | None, typer.Option("--output", "-o", help="File to write; else one named after the session.")
]
PaperName = Annotated[str, typer.Option("--paper", help="a4 or letter; for PDF.")]


def paper_called(name: str) -> "Paper":
    """BadParameter for one that there is not."""
    from meterlog.report import Paper  # noqa: PLC0415 - charts are slow to load

    if name not in list(Paper):
        raise typer.BadParameter(f"no paper {name!r}; papers are {', '.join(Paper)}", param_hint="--paper")
    return Paper(name)
