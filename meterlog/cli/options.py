"""Options that several commands share."""

from pathlib import Path
from typing import Annotated

import typer

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
