"""The live stream. A page only listens; what it sends just shows that it is there."""

import asyncio
import contextlib
from collections.abc import Coroutine

from fastapi import APIRouter, WebSocket, WebSocketDisconnect

from meterlog.daemon.context import of_websocket
from meterlog.daemon.hub import Page

router = APIRouter()
SEND_S = 2.0  # a page that takes no message for so long is asleep: it connects again when it wakes
_TRY_AGAIN, _RESTART = 1013, 1012


@router.websocket("/api/live")
async def live(socket: WebSocket) -> None:
    here = of_websocket(socket)
    hub = here.hub
    await socket.accept()
    page = hub.join()
    here.runner.tell()
    try:
        await _until_either_ends(_send(socket, page), _listen(socket))
    finally:
        hub.leave(page)


async def _until_either_ends(*coroutines: Coroutine[None, None, None]) -> None:
    tasks = [asyncio.create_task(coroutine) for coroutine in coroutines]
    _, going = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    for task in going:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)


async def _send(socket: WebSocket, page: Page) -> None:
    with contextlib.suppress(WebSocketDisconnect, RuntimeError):
        try:
            while (text := await page.next()) is not None:
                await asyncio.wait_for(socket.send_text(text), SEND_S)
        except TimeoutError:
            page.overrun = True
        await _close(socket, _TRY_AGAIN if page.overrun else _RESTART)


async def _close(socket: WebSocket, code: int) -> None:
    with contextlib.suppress(TimeoutError):
        await asyncio.wait_for(socket.close(code), SEND_S)


async def _listen(socket: WebSocket) -> None:
    while (await socket.receive())["type"] != "websocket.disconnect":
        pass  # a sign of life, whatever it says
