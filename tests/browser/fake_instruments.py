"""The part of the fake daemon that finds instruments: ports, findings and entries as a test tells it."""

from typing import Any

from fastapi import FastAPI

Json = dict[str, Any]


def port(device: str, address: str = "", note: str = "") -> Json:
    shown = {
        "device": device,
        "description": "USB serial adapter",
        "by_id": address,
        "by_path": "",
        "usb": "1",
    }
    return {"port": shown, "address": address or device, "twins": [], "note": note}


KNOWN: Json = {
    "address": "/dev/ttyUSB0",
    "matches": [
        {
            "driver": "fs9721",
            "dialect": "",
            "line": "2400 baud 8N1",
            "identity": {"text": "fs9721 frames"},
            "summary": "hand-held meters",
            "maturity": "proven against a simulated instrument",
        }
    ],
    "shows": ["1.500 V, dc, voltage"],
    "heard": [{"line": "2400 baud 8N1", "data": "1720", "lines": ["17 20   . "]}],
    "trouble": "",
    "says": "",
    "do": [],
}
FOREIGN: Json = KNOWN | {
    "matches": [],
    "shows": [],
    "heard": [{"line": "9600 baud 8N1", "data": "9cfe", "lines": ["9C FE   .."]}, {"line": "", "lines": []}],
    "trouble": "not understood",
    "says": "bytes came, but no driver recognises them",
    "do": ["Look up the speed.", "Look at the raw bytes."],
}


class FakeInstruments:
    """`asked` counts the looks at the list; `looks` and `entries` hold what the page sent."""

    def __init__(self) -> None:
        self.ports = [port("/dev/ttyUSB0"), port("/dev/ttyUSB1", "/dev/serial/by-id/usb-A")]
        self.held: list[Json] = []
        self.bench_file: str | None = "/home/me/bench.toml"
        self.finding = KNOWN
        self.asked = 0
        self.looks: list[Json] = []
        self.entries: list[Json] = []

    def add_to(self, app: FastAPI) -> None:
        @app.get("/api/instruments")
        def instruments() -> Json:
            self.asked += 1
            return {
                "ports": self.ports,
                "held": self.held,
                "looking": "",
                "longest_s": 16.2,
                "bench_file": self.bench_file,
                "functions": ["voltage", "resistance"],
                "taken_do": ["Stop the Braille service."],
            }

        @app.post("/api/instruments/look")
        def look(body: Json) -> Json:
            self.looks.append(body)
            return self.finding | {"address": body["address"]}

        @app.post("/api/instruments/entry")
        def entry(body: Json) -> Json:
            self.entries.append(body)
            channel = {"name": body.get("channel") or "fs9721", "function": "voltage", "coupling": "dc"}
            text = f'[[channel]]\nname = "{channel["name"]}"\nfunction = "{body.get("function")}"\n'
            made = {"name": body.get("name") or "fs9721", "channels": [channel]}
            return {"entry": made, "text": text, "written": body["write"]}
