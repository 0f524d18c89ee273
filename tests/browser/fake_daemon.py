"""Stands in for the daemon: serves the page under a strict content policy and says what a test tells it.

It keeps saying the last live message several times a second, as the daemon does, until told to be silent.
"""

import asyncio
import contextlib
import socket
import threading
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI, Request, Response, WebSocket, WebSocketDisconnect
from fastapi.responses import HTMLResponse, JSONResponse
from fastapi.staticfiles import StaticFiles

import meterlog.daemon
from tests.browser.fake_fit import FakeFit
from tests.browser.fake_instruments import FakeInstruments
from tests.browser.fake_issuing import FakeIssuing
from tests.browser.messages import SESSION, Json, live

PAGE = Path(meterlog.daemon.__file__).parent / "page"
EVERY_S = 0.1


class FakeDaemon:
    """`actions` and `heard` hold what the page sent; `refuse` is why an action is refused, "" accepts it."""

    def __init__(self) -> None:
        self.actions: list[Json] = []
        self.begun: list[Json] = []
        self.gone_on: list[int] = []
        self.overrides: list[str] = []
        self.unfit: Json | None = None  # what going on is refused with, unless somebody says why
        self.batch: Json | None = None
        self.instruments = FakeInstruments()
        self.heard: list[Any] = []
        self.tokens: list[str | None] = []
        self.token = "token-1"
        self.refuse = ""
        self.fit = FakeFit()
        self.problem: Json | None = None
        self.simulate_url: str | None = None
        self.record: list[Json] = []
        self.trips: list[Json] = []
        self.condition: Json | None = None
        self.issuing = FakeIssuing()
        self.connections = 0
        self.sequence = 0
        self.silent = False
        self.answered = 0
        self.may_answer = threading.Event()
        self.may_answer.set()
        self._live = live(None)
        self._queues: set[asyncio.Queue[Json | str]] = set()
        self._socket = socket.socket()
        self._socket.bind(("127.0.0.1", 0))
        self.port: int = self._socket.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self._start()

    def _start(self) -> None:
        config = uvicorn.Config(
            make_app(self),
            log_level="error",
            ws="websockets-sansio",
            lifespan="off",
            timeout_graceful_shutdown=1,
        )
        self._server = uvicorn.Server(config)
        self._ready = threading.Event()
        self._thread = threading.Thread(target=lambda: asyncio.run(self._run()), daemon=True)
        self._thread.start()
        assert self._ready.wait(30)

    async def _run(self) -> None:
        self._loop = asyncio.get_running_loop()
        repeating = asyncio.create_task(self._repeat())
        await self._server.serve(sockets=[self._socket])
        repeating.cancel()

    async def _repeat(self) -> None:
        self._ready.set()
        while True:
            if not self.silent:
                self.sequence += 1
                self._put(self._live | {"sequence": self.sequence})
            await asyncio.sleep(EVERY_S)

    def _put(self, message: Json | str) -> None:
        for queue in self._queues:
            queue.put_nowait(message)

    def show(self, message: Json) -> None:
        """From now on say this live message."""
        self._live = message
        self.say(message | {"sequence": self._next()})

    def _next(self) -> int:
        self.sequence += 1
        return self.sequence

    def say(self, message: Json | str) -> None:
        """Once, to every page; a text goes out as it stands."""
        self._loop.call_soon_threadsafe(self._put, message)

    @contextlib.contextmanager
    def answering_late(self) -> Iterator[None]:
        """Actions, and what asks for a session, are answered when this ends."""
        self.may_answer.clear()
        yield
        self.may_answer.set()

    def drop_pages(self) -> None:
        """Close every socket, as a restart does."""
        self.say("close")

    def stop(self) -> None:
        self._server.should_exit = True
        self._thread.join(30)
        self._socket.close()

    @property
    def session(self) -> int | None:
        session: int | None = self._live["session"]
        return session

    async def talk(self, page: WebSocket) -> None:
        queue: asyncio.Queue[Json | str] = asyncio.Queue()
        self._queues.add(queue)
        self.connections += 1
        listening = asyncio.create_task(self._listen(page))
        try:
            while (message := await queue.get()) != "close":
                await (page.send_text(message) if isinstance(message, str) else page.send_json(message))
            await page.close(1012)
        finally:
            self._queues.discard(queue)
            listening.cancel()

    async def _listen(self, page: WebSocket) -> None:
        with contextlib.suppress(WebSocketDisconnect):
            while True:
                self.heard.append(await page.receive_json())


def make_app(daemon: FakeDaemon) -> FastAPI:
    app = FastAPI()

    @app.middleware("http")
    async def policy(request: Request, call_next: Any) -> Response:
        response: Response = await call_next(request)
        frame = daemon.simulate_url or "'none'"
        response.headers["Content-Security-Policy"] = f"default-src 'self'; frame-src {frame}"
        return response

    add_reads(app, daemon)
    add_writes(app, daemon)
    daemon.issuing.add_to(app, partial(refusal, daemon))
    daemon.instruments.add_to(app)
    daemon.fit.add_to(app)
    app.mount("/", StaticFiles(directory=PAGE, html=True))
    return app


def add_reads(app: FastAPI, daemon: FakeDaemon) -> None:
    @app.get("/api/token")
    def token() -> Json:
        return {"token": daemon.token}

    @app.get("/api/status")
    def status() -> Json:
        bench = {"name": "Bench by the window", "simulate_url": daemon.simulate_url}
        return {"version": "0", "bench": bench, "session": daemon.session}

    @app.get("/api/procedures")
    def procedures() -> list[Json]:
        good = {
            "name": "tape",
            "title": "Tape machine, full alignment",
            "revision": "3",
            "problems": [],
            "warnings": ["tape.toml:9: channel.2.name: warning: nothing uses it"],
        }
        bad = {
            "name": "bad",
            "title": "Draft",
            "revision": "1",
            "problems": ["draft.toml, line 7: no target"],
        }
        return [row | {"unit": "two-track recorder", "file": f"{row['name']}.toml"} for row in (good, bad)]

    @app.get("/api/batch")
    def batch() -> Json | None:
        return daemon.batch

    @app.get("/api/sessions")
    def sessions() -> list[Json]:
        return [
            {"id": 0, "unit": "TR-2 no. 16", "procedure": "Tape machine, full alignment"}
            | {"began": "2026-03-01T09:00:00Z", "ended": "2026-03-01T10:00:00Z", "verdict": "pass"}
            | {"issued_numbers": daemon.issuing.standing},
            {"id": 6, "unit": "TR-2 no. 15", "procedure": "Tape machine, full alignment"}
            | {"began": "2026-02-20T09:00:00Z", "ended": None, "verdict": None}
            | {"parting": "set-aside", "reason": "waits for a part", "issued_numbers": []},
        ]

    @app.get("/api/sessions/{session}")
    def record(session: int) -> Json:
        daemon.may_answer.wait(30)
        names = {"id": session, "unit": "TR-2 no. 17", "procedure": "Tape machine, full alignment"}
        kept = {"settled": daemon.record, "trips": daemon.trips, "condition": daemon.condition}
        commission = {"customer": "A. Customer\n2 Hill Road"}
        return names | kept | {"endings": [], "commission": commission, "issued": daemon.issuing.issued}

    @app.get("/api/sessions/{session}/report")
    def report(session: int) -> HTMLResponse:
        return HTMLResponse(f"<p>Report of {session}</p>")

    @app.websocket("/api/live")
    async def stream(page: WebSocket) -> None:
        await page.accept()
        with contextlib.suppress(WebSocketDisconnect, RuntimeError):
            await daemon.talk(page)


def refusal(daemon: FakeDaemon, request: Request) -> JSONResponse | None:
    daemon.tokens.append(request.headers.get("X-Meterlog-Token"))
    if daemon.tokens[-1] != daemon.token:
        error = {"what": "The token is not this daemon's.", "where": "", "do": "Reload the page."}
        return JSONResponse({"error": error}, 403)
    return JSONResponse({"error": daemon.problem}, 422) if daemon.problem else None


def add_writes(app: FastAPI, daemon: FakeDaemon) -> None:
    @app.post("/api/sessions")
    async def begin(request: Request) -> Response:
        if answer := refusal(daemon, request):
            return answer
        daemon.begun.append(await request.json())
        return JSONResponse({"id": SESSION})

    @app.post("/api/sessions/{session}/go-on")
    async def go_on(session: int, request: Request) -> Response:
        if answer := refusal(daemon, request):
            return answer
        override = (await request.json()).get("override", "")
        if daemon.unfit and not override:
            return JSONResponse({"error": daemon.unfit}, 422)
        daemon.gone_on.append(session)
        daemon.overrides.append(override)
        return JSONResponse({"id": session})

    @app.post("/api/session/action")
    async def act(request: Request) -> Response:
        if answer := refusal(daemon, request):
            return answer
        daemon.actions.append(await request.json())
        await asyncio.to_thread(daemon.may_answer.wait, 30)
        daemon.answered += 1
        return JSONResponse({"accepted": not daemon.refuse, "message": daemon.refuse})
