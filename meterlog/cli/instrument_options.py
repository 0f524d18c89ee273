"""What the commands about instruments share: options, and what the daemon reads already."""

from collections.abc import Collection
from typing import Annotated

import typer

from meterlog.bench import FUNCTION_UNITS, BenchError
from meterlog.bench.find import Held
from meterlog.cli.options import Data
from meterlog.daemon.client import Client
from meterlog.daemon.errors import DaemonError
from meterlog.records import DataFolder

Function = Annotated[str, typer.Option(help=f"What its channel measures: {', '.join(FUNCTION_UNITS)}.")]
AsCoupling = Annotated[str, typer.Option(help="For voltage and current: dc, ac or acdc.")]


def insist_on(option: str, value: str, choices: Collection[str]) -> None:
    if value not in choices:
        raise BenchError(f"{option} {value}: write one of {', '.join(filter(None, choices))}")


def held_by_daemon(data: Data) -> list[Held]:
    """What the daemon of this data folder reads; nothing where none runs."""
    try:
        with Client(DataFolder(data).path) as client:
            return [Held(**one) for one in client.get("/api/instruments")["held"]]
    except DaemonError:
        return []
