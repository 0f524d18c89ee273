"""meterlog serve: the daemon."""

import logging
from pathlib import Path
from typing import Annotated

import typer

from meterlog.cli.options import Data

PORT = 8517
_FORMAT = "%(asctime)s %(levelname)s %(message)s"


def add_to(app: typer.Typer) -> None:
    app.command()(serve)


def serve(
    bench: Annotated[Path, typer.Option(help="The bench file: which meters, where, on which channels.")],
    *,
    data: Data = None,
    procedures: Annotated[
        Path | None,
        typer.Option(help="A folder of procedure files beside those shipped.", file_okay=False, exists=True),
    ] = None,
    batch: Annotated[
        Path | None, typer.Option(help="The file of a batch: the page then offers its next unit.")
    ] = None,
    host: Annotated[str, typer.Option(help="Address on this machine to answer at.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="0: any free one.")] = PORT,
) -> None:
    """Run the daemon: it reads the meters, runs the session, keeps the record and serves the page."""
    from meterlog.daemon import serve as daemon  # noqa: PLC0415 - the other commands start without its weight

    logging.basicConfig(level=logging.INFO, format=_FORMAT)
    logging.getLogger("alembic").setLevel(logging.WARNING)
    options = daemon.Options(bench=bench, data=data, procedures=procedures, host=host, port=port, batch=batch)
    daemon.serve(options)
