"""A small client of the daemon's API for the commands: finds the daemon, speaks JSON, raises typed errors."""

import json
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import httpx
from websockets.exceptions import WebSocketException
from websockets.sync.client import ClientConnection, connect

from meterlog.daemon.access import TOKEN_HEADER
from meterlog.daemon.contact import Contact, read_contact
from meterlog.daemon.errors import DaemonError, NoDaemon, Refusal

ANSWER_S = 30.0
SILENCE_S = 5.0


class Client:
    """Use it in a `with`. Every call may raise NoDaemon, or Refusal with the daemon's own words."""

    def __init__(self, folder: Path) -> None:
        self._contact: Contact = read_contact(folder)
        self._folder = folder
        self._http = httpx.Client(
            base_url=self._contact.url,
            headers={TOKEN_HEADER: self._contact.token},
            timeout=ANSWER_S,
            trust_env=False,  # a proxy of the environment is not for this machine
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._http.close()

    @property
    def url(self) -> str:
        return self._contact.url

    def get(self, path: str) -> Any:
        return self._ask("GET", path)

    def post(self, path: str, body: dict[str, Any]) -> Any:
        return self._ask("POST", path, json=body)

    def begin(self, procedure: str, unit_model: str, unit_serial: str, operator: str, **more: Any) -> int:
        """The number of the session. `more`: batch, override; see POST /api/sessions."""
        start = {"procedure": procedure, "unit_model": unit_model, "unit_serial": unit_serial}
        answer = self.post("/api/sessions", start | {"operator": operator} | more)
        return int(answer["id"])

    def warnings(self, procedure: str) -> list[str]:
        """What the daemon warns of before a session with a procedure on offer."""
        entries = self.get("/api/procedures")
        return [str(one) for entry in entries if entry["name"] == procedure for one in entry["warnings"]]

    def go_on_with(self, session_id: int, override: str = "") -> None:
        """A session that was set aside or left."""
        self.post(f"/api/sessions/{session_id}/go-on", {"override": override})

    def act(self, kind: str, text: str = "", place: int | None = None) -> str:
        """Why the action was not accepted; "" if it was."""
        answer = self.post("/api/session/action", {"kind": kind, "text": text, "place": place})
        return "" if answer["accepted"] else str(answer["message"])

    def live(self) -> Iterator[dict[str, Any]]:
        """The messages of the live stream, until the daemon ends it. NoDaemon if it goes silent."""
        try:
            with connect(
                self.url.replace("http", "ws", 1) + "/api/live", proxy=None, close_timeout=1
            ) as stream:
                yield from _messages(stream)
        except TimeoutError as error:
            raise NoDaemon(f"{self.url} has been silent for {SILENCE_S:g} s; look at the daemon") from error
        except (OSError, WebSocketException) as error:
            raise self._gone() from error

    def _ask(self, method: str, path: str, **options: Any) -> Any:
        try:
            response = self._http.request(method, path, **options)
        except httpx.TransportError as error:
            raise self._gone() from error
        try:
            answer = response.json()
        except ValueError as error:
            raise DaemonError(f"{self.url}{path} gave no JSON (HTTP {response.status_code})") from error
        if response.is_success:
            return answer
        raise _refusal(response.status_code, answer)

    def _gone(self) -> NoDaemon:
        return NoDaemon(f"no daemon answers at {self.url} for {self._folder}; start it with: meterlog serve")


def _messages(stream: ClientConnection) -> Iterator[dict[str, Any]]:
    while True:
        yield json.loads(stream.recv(timeout=SILENCE_S))


def _refusal(status: int, answer: Any) -> Refusal:
    error = answer.get("error", {}) if isinstance(answer, dict) else {}
    what, where, todo = (str(error.get(part, "")) for part in ("what", "where", "do"))
    return Refusal(status, what, where, todo, tuple(error.get("problems", ())))
