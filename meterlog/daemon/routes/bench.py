"""What the daemon is and has: its state, the token for its own page, the procedures on offer."""

from typing import Any

from fastapi import APIRouter

from meterlog.daemon.as_json import plain
from meterlog.daemon.context import Here
from meterlog.daemon.fit import fit_json, step_fits
from meterlog.daemon.numbers import Celsius
from meterlog.daemon.version import VERSION

router = APIRouter(prefix="/api", tags=["bench"])


@router.get("/status")
def status(here: Here) -> dict[str, Any]:
    """How the daemon, its links and its writer do. `session` is the one that runs, or null."""
    running = here.runner.running
    return {
        "version": VERSION,
        "data_folder": str(here.data_folder),
        "bench": {"name": here.bench.name, "simulate_url": here.bench.simulate_url},
        "links": plain(here.open_bench.statuses()),
        "writer": plain(here.runner.writer.status()),
        "session": running.id if running and not running.ended else None,
        "live_sequence": here.hub.sequence,
    }


@router.get("/token")
def token(here: Here) -> dict[str, str]:
    """What a write must carry. Only a page from here can read this answer."""
    return {"token": here.token}


@router.get("/procedures")
def procedures(here: Here) -> list[dict[str, Any]]:
    """Those shipped and those of the operator's folder; one with problems cannot be begun."""
    return here.library.entries()


@router.get("/procedures/{name}/fit")
def fit(name: str, here: Here, temperature_c: Celsius | None = None) -> list[dict[str, Any]]:
    """Whether the meters of this bench are good enough at a temperature, a row for each step with a window; a
    session that begins is judged the same. 404, 422: no such procedure, or one with problems; 422: no bench
    has that temperature."""
    return [fit_json(one) for one in step_fits(here.bench, here.library.find(name), temperature_c)]
