"""A whole daemon in this process: its application on a real record and a real port, its meters not there."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import pytest
import uvicorn
from fastapi import FastAPI

from meterlog.bench import OpenBench
from meterlog.daemon.access import TOKEN_HEADER
from meterlog.daemon.app import create_app
from meterlog.daemon.context import Context
from meterlog.daemon.library import Library
from meterlog.daemon.press import Press
from meterlog.daemon.sessions import Sessions
from meterlog.records import Writer, migrate, open_engine
from tests.daemon.desk import PATIENCE_S, PROCEDURE, Desk, bench_in

TOKEN = "token-of-this-test"


@dataclass
class House:
    """`procedures` is the operator's folder; `client` is a program on this machine."""

    desk: Desk
    port: int
    procedures: Path
    client: httpx.Client

    def post(self, path: str, body: dict[str, Any]) -> Any:
        return self.client.post(path, json=body, headers={TOKEN_HEADER: TOKEN})

    def begin(self) -> int:
        answer = self.post(
            "/api/sessions", {"procedure": "two", "unit_model": "Recorder", "unit_serial": "17"}
        )
        assert answer.status_code == 200, answer.text
        return int(answer.json()["id"])


@pytest.fixture
def house(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[House]:
    """Its parameter, if a test gives one, is the text of the bench file in the place of the desk's."""
    database = open_engine(tmp_path / "record.sqlite3")
    migrate(database)
    writer = Writer(database, retry_s=0.05)
    desk = Desk(tmp_path, writer)
    bench = bench_in(tmp_path, request.param) if hasattr(request, "param") else desk.bench
    desk.sessions = Sessions(database, writer, bench, desk.clock)
    procedures = tmp_path / "procedures"
    procedures.mkdir()
    (procedures / "two.toml").write_text(PROCEDURE)
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        port: int = door.getsockname()[1]
        context = Context(
            data_folder=tmp_path,
            port=port,
            token=TOKEN,
            database=database,
            bench=bench,
            open_bench=OpenBench(bench, desk.clock, desk.runner.deliver, desk.runner.deliver),
            library=Library((), procedures, bench, database),
            sessions=desk.sessions,
            runner=desk.runner,
            hub=desk.hub,
            press=(press := Press(tmp_path / "record.sqlite3")),
            bench_file=tmp_path / "bench.toml",
        )
        with desk, _served(create_app(context), door, desk), httpx.Client(**_here(port)) as client:
            yield House(desk, port, procedures, client)
    press.stop()
    writer.close()
    database.dispose()


def _here(port: int) -> dict[str, Any]:
    transport = httpx.HTTPTransport(retries=20)
    return {"base_url": f"http://127.0.0.1:{port}", "transport": transport, "timeout": PATIENCE_S}


@contextmanager
def _served(app: FastAPI, door: socket.socket, desk: Desk) -> Iterator[None]:
    config = uvicorn.Config(
        app, log_level="critical", ws="websockets-sansio", lifespan="off", ws_max_size=16 * 1024
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, args=([door],), daemon=True)
    thread.start()
    try:
        yield
    finally:
        desk.hub.close()
        server.should_exit = True
        thread.join(PATIENCE_S)
