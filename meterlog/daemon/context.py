"""What the routes of the API work with; made once, at the start."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated

import sqlalchemy
from fastapi import Depends, Request, WebSocket

from meterlog.bench import Bench, OpenBench
from meterlog.daemon.hub import Hub
from meterlog.daemon.library import Library
from meterlog.daemon.press import Press
from meterlog.daemon.search import Search
from meterlog.daemon.session_runner import SessionRunner
from meterlog.daemon.sessions import Sessions
from meterlog.report.batch_file import Batch


@dataclass(frozen=True, slots=True)
class Context:
    """`port` is the one the daemon listens on; `bench_file` where `bench` comes from, if that is known."""

    data_folder: Path
    port: int
    token: str
    database: sqlalchemy.Engine
    bench: Bench
    open_bench: OpenBench
    library: Library
    sessions: Sessions
    runner: SessionRunner
    hub: Hub
    press: Press
    batch: Batch | None = None
    bench_file: Path | None = None
    search: Search = field(default_factory=Search)


def _of_request(request: Request) -> Context:
    context: Context = request.app.state.context
    return context


def of_websocket(socket: WebSocket) -> Context:
    context: Context = socket.app.state.context
    return context


Here = Annotated[Context, Depends(_of_request)]
