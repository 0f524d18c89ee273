"""The control interface over HTTP, on this machine only, and the small page with the trimmers.

Any page in a browser can reach a local port. So a foreign Host is refused (it would be another name for
this address), and so is a POST that is not JSON (a browser asks first before it sends that elsewhere,
and no answer here allows it).
"""

import json
import threading
from collections.abc import Callable, Mapping
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from typing import TypeVar

from meterlog.simulate.control import Answer, Control
from meterlog.simulate.errors import SimulateError

Act = TypeVar("Act")
HOST = "127.0.0.1"
BODY_LIMIT = 64 * 1024
POLICY = "default-src 'self'; frame-ancestors http://127.0.0.1:* http://localhost:*"
"""Pages of this machine may show this one in a frame, on whatever port they are; others may not."""
PAGE = {
    "/": ("index.html", "text/html; charset=utf-8"),
    "/icon.svg": ("icon.svg", "image/svg+xml"),
    "/page.js": ("page.js", "text/javascript; charset=utf-8"),
    "/page.css": ("page.css", "text/css; charset=utf-8"),
}


class ControlServer(ThreadingHTTPServer):
    """Serves from its own threads between start() and close()."""

    daemon_threads = True
    block_on_close = False  # a browser keeps its connection open; the end of the bench does not wait for it

    def __init__(self, control: Control, port: int = 0) -> None:
        super().__init__((HOST, port), _Handler)
        self.control = control
        self._thread = threading.Thread(target=self.serve_forever, name="control", daemon=True)

    @property
    def url(self) -> str:
        return f"http://{HOST}:{self.server_port}/"

    @property
    def names(self) -> set[str]:
        return {f"{host}:{self.server_port}" for host in (HOST, "localhost")}

    def start(self) -> None:
        self._thread.start()

    def close(self) -> None:
        self.shutdown()
        self._thread.join()
        self.server_close()


class _Refused(Exception):  # noqa: N818 - an answer to the browser
    def __init__(self, status: HTTPStatus, text: str) -> None:
        super().__init__(text)
        self.status = status


class _Handler(BaseHTTPRequestHandler):
    server: ControlServer
    protocol_version = "HTTP/1.1"
    timeout = 30

    def do_GET(self) -> None:
        self._guarded(self._get)

    def do_POST(self) -> None:
        self._guarded(self._post)

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the name of the base class
        """Quiet: the page asks five times a second."""

    def _guarded(self, serve: Callable[[], None]) -> None:
        try:
            self._know_host()
            serve()
        except _Refused as refused:
            self._refuse(refused.status, str(refused))
        except (SimulateError, OSError) as error:
            self._refuse(HTTPStatus.BAD_REQUEST, str(error))

    def _know_host(self) -> None:
        if self.headers.get("Host") not in self.server.names:
            raise _Refused(HTTPStatus.FORBIDDEN, f"use {self.server.url}")

    def _get(self) -> None:
        path = self.path.partition("?")[0]
        if path in PAGE:
            name, kind = PAGE[path]
            self._send(HTTPStatus.OK, kind, files("meterlog.simulate").joinpath("page", name).read_bytes())
        else:
            self._answer(HTTPStatus.OK, self._find(self.server.control.asked, path)())

    def _post(self) -> None:
        act = self._find(self.server.control.told, self.path)
        self._answer(HTTPStatus.OK, act(self._body()))

    def _find(self, acts: Mapping[str, Act], path: str) -> Act:
        if path in acts:
            return acts[path]
        control = self.server.control
        places = f"GET {', '.join(control.asked)}, POST {', '.join(control.told)}"
        raise _Refused(HTTPStatus.NOT_FOUND, f"nothing at {path}; there are {places}")

    def _body(self) -> Mapping[str, object]:
        length = self.headers.get("Content-Length", "")
        if self.headers.get_content_type() != "application/json":
            raise _Refused(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, "send JSON, as application/json")
        if not length.isdecimal() or int(length) > BODY_LIMIT:
            raise _Refused(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, f"send at most {BODY_LIMIT} bytes")
        try:
            body = json.loads(self.rfile.read(int(length)))
        except ValueError as error:
            raise _Refused(HTTPStatus.BAD_REQUEST, f"this is no JSON: {error}") from error
        if not isinstance(body, dict):
            raise _Refused(HTTPStatus.BAD_REQUEST, "send a JSON object")
        return body

    def _refuse(self, status: HTTPStatus, text: str) -> None:
        self.close_connection = True  # a body may be left unread; the next request must not begin in it
        self._answer(status, {"error": text})

    def _answer(self, status: HTTPStatus, answer: Answer) -> None:
        self._send(status, "application/json", json.dumps(answer, allow_nan=False).encode())

    def _send(self, status: HTTPStatus, kind: str, body: bytes) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Cache-Control", "no-store")
        self.send_header("Content-Security-Policy", POLICY)
        self.send_header("X-Content-Type-Options", "nosniff")
        self.end_headers()
        self.wfile.write(body)
