"""Keeps the picture true: messages and keys in, requests out, and the bell for what must be heard."""

import queue
import threading
import time
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.live import Live

from meterlog.cli.follow.keyboard import Request
from meterlog.cli.follow.page import Page
from meterlog.cli.follow.picture import Scene
from meterlog.cli.follow.resting import at_rest, resting_text
from meterlog.cli.follow.terminal import keys_pressed, single_keys
from meterlog.cli.said import accepted
from meterlog.daemon.client import Client
from meterlog.daemon.errors import DaemonError

_KEYS_S = 0.1
_AGAIN_S = 1.0
_ALARM_EVERY_NS = 1_000_000_000
_ANSWER_S = 15.0  # then an answer is taken away: it must not look like the answer to a later key


class Follower:
    """One terminal. The daemon may be restarted meanwhile: it is found anew by its data folder."""

    def __init__(self, folder: Path, *, bell: bool) -> None:
        self.scene = Scene()
        self._folder = folder
        self._bell = bell
        self._console = Console()
        self._inside = False
        self._fades_s = float("inf")
        self._at_rest: tuple[int | None, bool] = (None, False)
        self._alarm_rung_ns = 0  # 0 while no guard sounds
        self._messages: queue.SimpleQueue[dict[str, Any]] = queue.SimpleQueue()

    def run(self) -> None:
        """Until the person leaves. NoDaemon if none runs at the beginning."""
        with Client(self._folder) as client:
            client.get("/api/status")
        threading.Thread(target=self._listen, name="live stream", daemon=True).start()
        with single_keys(), Live(console=self._console, screen=True, auto_refresh=False) as screen:
            while not self._handle(keys_pressed(_KEYS_S)):
                self._take_messages()
                self._look_up()
                self.fade(time.monotonic())
                screen.update(Page(self.scene), refresh=True)

    def _listen(self) -> None:
        while True:
            try:
                with Client(self._folder) as client:
                    for message in client.live():
                        self._messages.put(message)
            except DaemonError as error:
                self._messages.put({"type": "lost", "text": str(error)})
            time.sleep(_AGAIN_S)

    def _take_messages(self) -> None:
        while not self._messages.empty():
            if self.take(self._messages.get()):
                self._ring()

    def take(self, message: dict[str, Any]) -> bool:
        """Put a message into the scene; True if it must be heard."""
        match message["type"]:
            case "live":
                return self._live(message)
            case "readings":
                for reading in message["readings"]:
                    self.scene.trace.add(reading)
            case "stored":
                self.scene.stored = {message["session"]: _stored(message["settled"])}
                return True
            case "guard-tripped":
                self._say(f"✗ guard tripped: {message['guard']} ({message['step']})")
                return True
            case "alarm":
                self._say(message["text"])
                return True
            case "lost":
                self.scene.lost = message["text"]
        return False

    def _live(self, message: dict[str, Any]) -> bool:
        self.scene.live, self.scene.lost = message, ""
        inside = False
        if view := message["view"]:
            self.scene.trace.follow(view["guide"]["channel"])
            inside = view["guide"]["cue"]["sound"] == "inside"
        arrived, self._inside = inside and not self._inside, inside
        return self._alarming(message) or arrived

    def _alarming(self, message: dict[str, Any]) -> bool:
        """The bell again and again, as long as a guard sounds."""
        if not message["view"] or message["view"]["alarm"] is None:
            self._alarm_rung_ns = 0
            return False
        due: bool = message["time_ns"] - self._alarm_rung_ns >= _ALARM_EVERY_NS
        if due:
            self._alarm_rung_ns = message["time_ns"]
        return due

    def _look_up(self) -> None:
        """What became of the sessions, from the record, whenever the work comes to rest."""
        if (now := at_rest(self.scene.live)) == self._at_rest or self.scene.lost:
            return
        self.scene.resting = ""
        if now[1]:
            try:
                with Client(self._folder) as client:
                    self.scene.resting = resting_text(client.get("/api/sessions"), now[0])
            except DaemonError as error:
                self._say(str(error))
        self._at_rest = now

    def _say(self, text: str, *, for_s: float = float("inf")) -> None:
        self.scene.notice = f"{time.strftime('%H:%M:%S')} {text}"
        self._fades_s = time.monotonic() + for_s

    def fade(self, at_s: float) -> None:
        """Answers go after some seconds; what the daemon has said of itself stays until the next word."""
        if at_s >= self._fades_s:
            self.scene.notice = ""

    def _ring(self) -> None:
        if self._bell:
            self._console.bell()

    def _handle(self, keys: list[str]) -> bool:
        """True if the person wants to leave."""
        paused = (self.scene.view or {}).get("state") == "paused"
        for key in keys:
            asks_for = self.scene.asks_for
            request = self.scene.keyboard.press(key, time.monotonic(), paused=paused, asks_for=asks_for)
            if request is not None and request.leave:
                return True
            if request is not None and request.refused:
                self._say(request.refused, for_s=_ANSWER_S)
            elif request is not None:
                self._ask(request)
        return False

    def _ask(self, request: Request) -> None:
        try:
            with Client(self._folder) as client:
                refused = client.act(request.kind, request.text)
        except DaemonError as error:
            refused = str(error)
        self._say(refused or accepted(request.kind, request.text), for_s=_ANSWER_S)


def _stored(settled: dict[str, Any]) -> str:
    verdict = "" if settled["verdict"] == "not judged" else f", {settled['verdict']}"
    return f"✓ stored: {settled['text']}{verdict} ({settled['step']}, {settled['pass_']})"
