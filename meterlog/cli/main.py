"""The command `meterlog`: every command parses, calls, prints. What can go wrong is said in one place."""

import sys

import typer

from meterlog.cli import batch, check, checking, instruments, procedures, recorded, serving, working
from meterlog.cli.complain import complain
from meterlog.errors import MeterlogError

app = typer.Typer(
    help="Records meters while you align analogue equipment, and guides the hand by sound.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    add_completion=False,
    rich_markup_mode=None,  # plain text, also over a slow line and in a small terminal
)
serving.add_to(app)
working.add_to(app)
recorded.add_to(app)
batch.add_to(app)
procedures.add_to(app)
checking.add_to(app)
check.add_to(app)
instruments.add_to(app)


def run() -> None:
    """Entry point of the package."""
    try:
        app()
    except MeterlogError as error:
        sys.exit(complain(error))


if __name__ == "__main__":
    run()
