"""The technician's eyes and hands on the running programs: looks come from the daemon's live messages and
the unit's own lamp, turns go to the bench's control page, the foot presses through the daemon's API."""

import json
import time
from typing import Any

import httpx
from websockets.sync.client import ClientConnection

from meterlog.simulate.look import GO_ON, Look
from meterlog.simulate.unit import Value


class BenchControls:
    """What hands reach on the simulated bench."""

    def __init__(self, url: str) -> None:
        self._client = httpx.Client(base_url=url, timeout=10.0)

    def turn(self, trimmer: str, by: float) -> None:
        self._client.post("/turn", json={"trimmer": trimmer, "by": by}).raise_for_status()

    def set(self, control: str, value: Value) -> None:
        self._client.post("/set", json={control: value}).raise_for_status()

    def lamp(self) -> bool:
        return bool(self._client.get("/state").raise_for_status().json()["lamp"])

    def close(self) -> None:
        self._client.close()


class Person:
    """Hands on the bench and a foot on the pedal (`Acts` of the technician)."""

    def __init__(self, controls: BenchControls, daemon: httpx.Client) -> None:
        self._controls, self._daemon = controls, daemon
        self.turn, self.set = controls.turn, controls.set

    def press(self, key: str) -> None:
        assert key == GO_ON
        self._daemon.post("/api/session/action", json={"kind": key}).raise_for_status()

    def enter(self, text: str) -> None:
        self._daemon.post("/api/session/action", json={"kind": "enter", "text": text}).raise_for_status()


class LiveView:
    """The daemon's live messages; the newest state counts, outcomes are kept in order."""

    def __init__(self, socket: ClientConnection) -> None:
        self._socket = socket
        self.live: dict[str, Any] = {}
        self.stored: list[dict[str, Any]] = []
        self.ended: dict[str, Any] | None = None

    def refresh(self, wait_s: float) -> None:
        """Take in what has come, waiting at most `wait_s` for the first message."""
        deadline_s = time.monotonic() + wait_s
        while (left_s := deadline_s - time.monotonic()) > 0:
            try:
                message = json.loads(self._socket.recv(timeout=left_s))
            except TimeoutError:
                return
            self._take(message)

    def _take(self, message: dict[str, Any]) -> None:
        kind = message["type"]
        if kind == "live":
            self.live = message
        elif kind == "stored":
            self.stored.append(message)
        elif kind == "session-ended":
            self.ended = message

    def look(self, lamp: bool) -> Look | None:
        """What a glance shows; None while no session runs."""
        view = self.live.get("view")
        if not view:
            return None
        guide = view["guide"]
        return Look(
            at_s=time.monotonic(),
            step=view["step"],
            pattern=view["pattern"],
            pass_name=view["pass_"],
            phase=guide["phase"],
            volts=self._volts(guide["channel"]),
            target_volts=guide["target"],
            low_volts=guide["low"],
            high_volts=guide["high"],
            let_go=guide["direction"] == "hold",
            awaiting_go_on=guide["awaiting_go_on"],
            lamp=lamp,
            says=guide["do_now"],
        )

    def _volts(self, channel: str) -> float | None:
        for shown in self.live.get("channels", []):
            if shown["channel"] == channel:
                value: float | None = shown["value"]
                return value
        return None
