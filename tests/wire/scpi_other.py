"""A meter built with a general SCPI library that is none of ours: its parser, its error queue, its registers.

The library is scpipy (MIT); what is measured is invented.
"""

import asyncio
import socket
import threading
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from itertools import count
from typing import Any

from scpipy.server.context import Context
from scpipy.server.routing import Router
from scpipy.server.server import Server

LONG_S = 30.0


class OtherMeter:
    """READ? gives 1, 2, 3, ... volts; knows CONF:VOLT:DC, SAMP:COUN and the filter VOLT:AC:BAND.

    function: what it is set to, by us or at its front panel; None if it does not know FUNC? either.
    """

    def __init__(self, function: str | None = "VOLT") -> None:
        self.function = function
        with socket.create_server(("127.0.0.1", 0)) as free:
            self._port = port = free.getsockname()[1]
        self.address = f"TCPIP::127.0.0.1::{port}::SOCKET"
        self.band = "+2.00000000E+01"
        self.told: list[str] = []
        self._numbers = count(1)
        self._up = threading.Event()
        self._server = Server("127.0.0.1", port, shared_context=True, lifespan=self._life)
        self._server.include_router(self._routes())
        self._thread = threading.Thread(target=self._server.run, daemon=True)

    def __enter__(self) -> "OtherMeter":
        self._thread.start()
        assert self._up.wait(LONG_S)
        end_s = time.monotonic() + LONG_S
        while not self._listens():
            assert time.monotonic() < end_s
            time.sleep(0.01)
        return self

    def __exit__(self, *_: object) -> None:
        self._loop.call_soon_threadsafe(self._server.stop)
        self._thread.join(LONG_S)

    def _listens(self) -> bool:
        with suppress(ConnectionRefusedError), socket.create_connection(("127.0.0.1", self._port)):
            return True
        return False

    @asynccontextmanager
    async def _life(self, _: Any) -> AsyncIterator[None]:
        self._loop = asyncio.get_running_loop()
        self._up.set()
        yield

    def _routes(self) -> Router:
        router = Router()
        router.add_route("*IDN?", lambda context: "OTHER,LIBRARY METER,7,1.0")
        router.add_route("CONFigure:VOLTage:DC", lambda context: self._set("VOLT", "dc"))
        router.add_route("CONFigure:VOLTage:DC <full>", self._configure)
        router.add_route("CONFigure:VOLTage:AC", lambda context: self._set("VOLT:AC", "ac"))
        router.add_route("VOLTage:AC:BANDwidth <hertz>", self._filter)
        router.add_route("VOLTage:AC:BANDwidth?", lambda context: self.band)
        if self.function:
            router.add_route("FUNCtion?", lambda context: f'"{self.function}"')
        router.add_route("READ?", lambda context: f"{next(self._numbers):+.8E}")
        return router

    def _set(self, function: str, told: str) -> None:
        self.told.append(told)
        self.function = self.function and function

    def _configure(self, context: Context, full: str) -> None:
        self._set("VOLT", f"dc {full}")

    def _filter(self, context: Context, hertz: str) -> None:
        self.told.append(f"band {hertz}")
