"""Who may talk to the daemon. Any web site that a browser here has open can reach a loopback port, so:

Host     must be this daemon's own name with its port, or a foreign name was bent to this machine
Origin   if there is one, must be this daemon: also for WebSockets, before they are accepted
token    every write carries what only a page served from here, or a reader of daemon.json, knows
"""

import hmac
import secrets

from starlette.datastructures import Headers
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from meterlog.daemon.errors import Refusal

TOKEN_HEADER = "X-Meterlog-Token"
_READS = ("GET", "HEAD", "OPTIONS")
_SAME_SITE = ("same-origin", "none")  # what a browser says of a page from here, and of a typed address


def new_token() -> str:
    return secrets.token_urlsafe(32)


class Access:
    """The outermost layer of the app; answers what may not pass, HTTP 403 also for a WebSocket handshake."""

    def __init__(self, app: ASGIApp, *, port: int, token: str) -> None:
        self._app = app
        self._hosts = frozenset(f"{name}:{port}" for name in ("127.0.0.1", "localhost", "[::1]"))
        self._token = token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        refusal = self._refusal(scope) if scope["type"] in ("http", "websocket") else None
        if refusal is None:
            await self._app(scope, receive, send)
        elif scope["type"] == "http":
            await JSONResponse(refusal.body, refusal.status)(scope, receive, send)
        else:
            await send({"type": "websocket.close", "code": 1008, "reason": refusal.what})

    def _refusal(self, scope: Scope) -> Refusal | None:
        headers = Headers(scope=scope)
        host, origin = headers.get("host", ""), headers.get("origin")
        if host not in self._hosts:
            return Refusal(403, "This address is not the daemon's.", f"Host: {host}", _ask_here(self._hosts))
        if origin is not None and origin != f"http://{host}":
            return Refusal(403, "Another web site may not use the daemon.", f"Origin: {origin}", _PAGE)
        if scope["type"] == "http" and scope["method"] not in _READS:
            return self._write_refusal(headers)
        return None

    def _write_refusal(self, headers: Headers) -> Refusal | None:
        site = headers.get("sec-fetch-site", "none")
        if site not in _SAME_SITE:
            return Refusal(403, "Another web site may not use the daemon.", f"Sec-Fetch-Site: {site}", _PAGE)
        given = headers.get(TOKEN_HEADER, "")
        if not hmac.compare_digest(given.encode(), self._token.encode()):
            return Refusal(403, "The token is missing, or is not this daemon's.", TOKEN_HEADER, _TOKEN)
        return None


_PAGE = "Use the daemon's own page."
_TOKEN = "Reload the page; a program reads the token from daemon.json in the data folder."


def _ask_here(hosts: frozenset[str]) -> str:
    return f"Use http://{min(hosts)}."
