"""A short alignment on the simulated bench with the real daemon: two programs, real wires, real time."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
from websockets.sync.client import connect

from meterlog.demo.eyes import BenchControls, LiveView, Person
from meterlog.demo.programs import Programs
from meterlog.simulate.scenarios.tape_machine_steps import STEPS
from meterlog.simulate.technician import Technician
from tests.daemon.desk import wait_until

SHIPPED = Path(__file__).parents[2] / "config" / "procedures" / "tape-machine.toml"
KEPT = ("prepare", "reproduce-level", "record-tone", "panel-meter")
GLANCE_S = 0.05


def short_procedure(folder: Path) -> Path:
    """The shipped procedure with a few of its steps, so that a session takes less than a minute."""
    head, *steps = SHIPPED.read_text(encoding="utf-8").split("[[step]]")
    kept = [step for step in steps if any(f'id = "{name}"' in step for name in KEPT)]
    assert len(kept) == len(KEPT)
    path = folder / "short.toml"
    path.write_text("[[step]]".join([head, *kept]), encoding="utf-8")
    return path


class Desk:
    """A client of the running daemon, and what the technician needs."""

    def __init__(self, programs: Programs) -> None:
        self.programs = programs
        self.controls = BenchControls(programs.control_url)
        self.note: dict[str, Any] = {}
        self.client = httpx.Client()
        self.meet()

    def meet(self) -> None:
        """The daemon that runs now; its port and token are new after a restart."""
        self.note = json.loads((self.programs.data / "daemon.json").read_text(encoding="utf-8"))
        self.client.close()
        headers = {"X-Meterlog-Token": self.note["token"]}
        self.client = httpx.Client(base_url=self.note["url"], headers=headers, timeout=30.0)
        wait_until(self._all_live)

    def _all_live(self) -> bool:
        links = self.client.get("/api/status").json()["links"]
        return bool(links) and all(link["state"] == "live" for link in links)

    def begin(self, procedure: Path) -> int:
        body = {"procedure": str(procedure), "unit_model": "Tape machine", "unit_serial": "T-1"}
        answer = self.client.post("/api/sessions", json=body)
        assert answer.status_code == 200, answer.text
        return int(answer.json()["id"])

    def technician(self, press: Callable[[str], None] | None = None) -> Technician:
        """With their own foot on the pedal, or another way to press."""
        person = Person(self.controls, self.client)
        if press is not None:
            person.press = press  # type: ignore[method-assign]
        return Technician(STEPS, person, seed=3)

    def work(self, technician: Technician, until: Callable[[LiveView], bool]) -> LiveView:
        """Look and act until something holds."""
        url = self.note["url"].replace("http", "ws", 1) + "/api/live"
        with connect(url, max_size=None) as socket:
            view = LiveView(socket)
            while not until(view):
                view.refresh(GLANCE_S)
                if view.ended is None and (look := view.look(self.controls.lamp())):
                    technician.see(look)
        return view

    def close(self) -> None:
        self.client.close()
        self.controls.close()
