"""The control interface over HTTP: answers, refusals, and what a foreign page cannot do."""

import json
from collections.abc import Iterator
from urllib.parse import urlsplit
from urllib.request import urlopen

import pytest

from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.control import Control
from meterlog.simulate.control_server import BODY_LIMIT, PAGE, ControlServer
from meterlog.simulate.scenarios.tape_machine import TapeMachine
from tests.simulate.virtual_bench import VirtualClock
from tests.simulate.wires import PATIENCE_S, http

pytestmark = pytest.mark.wire


@pytest.fixture
def server() -> Iterator[ControlServer]:
    server = ControlServer(Control(SimulatedBench(TapeMachine(), VirtualClock()), {}))
    server.start()
    yield server
    server.close()


def test_turn_set_and_state(server: ControlServer) -> None:
    assert http(server.url + "turn", {"trimmer": "bias", "to": 0.25})[0] == 200
    assert http(server.url + "set", {"oscillator": True})[0] == 200
    status, body = http(server.url + "state")
    state = json.loads(body)
    assert (status, state["trimmers"]["bias"], state["controls"]["oscillator"]) == (200, 0.25, True)


@pytest.mark.parametrize("path", sorted(PAGE))
def test_page_is_served(server: ControlServer, path: str) -> None:
    status, body = http(server.url.rstrip("/") + path)
    assert status == 200
    assert body


def test_only_pages_of_this_machine_may_frame_it(server: ControlServer) -> None:
    """Content Security Policy Level 3 (W3C), 6.4.2 frame-ancestors; X-Frame-Options would know no ports."""
    with urlopen(server.url, timeout=PATIENCE_S) as answer:
        policy, older = answer.headers["Content-Security-Policy"], answer.headers["X-Frame-Options"]
    ancestors = policy.partition("frame-ancestors ")[2].partition(";")[0].split()
    assert ancestors == ["http://127.0.0.1:*", "http://localhost:*"]
    assert older is None


def test_page_asks_for_nothing_that_is_not_served(server: ControlServer) -> None:
    page = http(server.url)[1].decode()
    for name in ("page.js", "page.css", "icon.svg"):
        assert f'"{name}"' in page
    assert "http:" not in page.replace("http://www.w3.org", "")
    assert " style=" not in page


@pytest.mark.parametrize(
    ("path", "body", "status", "word"),
    [
        ("turn", {"trimmer": "treble", "by": 0.1}, 400, "azimuth"),
        ("turn", b"{", 400, "JSON"),
        ("turn", [1, 2], 400, "object"),
        ("set", {"level_dbu": 99}, 400, "from -60 to 20 dBu"),
        ("fault", {"meter": "none"}, 400, "meter"),
        ("nowhere", {}, 404, "/turn"),
        ("state", {}, 404, "/turn"),
        ("turn", b"x" * (BODY_LIMIT + 1), 413, "bytes"),
    ],
)
def test_refusals_say_what_would_work(
    server: ControlServer, path: str, body: object, status: int, word: str
) -> None:
    answered, text = http(server.url + path, body)
    assert answered == status
    assert word in json.loads(text)["error"]


def test_nothing_at_an_unknown_place(server: ControlServer) -> None:
    assert http(server.url + "..%2f..%2fmain.py")[0] == 404
    assert http(server.url + "turn")[0] == 404


def test_a_foreign_name_for_this_address_is_refused(server: ControlServer) -> None:
    port = urlsplit(server.url).port
    assert http(server.url + "state", headers={"Host": f"localhost:{port}"})[0] == 200
    assert http(server.url + "state", headers={"Host": f"bench.example:{port}"})[0] == 403
    assert http(server.url + "turn", {"trimmer": "bias", "to": 0}, {"Host": "bench.example"})[0] == 403


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data"])
def test_a_post_that_a_foreign_page_can_send_unasked_is_refused(server: ControlServer, kind: str) -> None:
    body = json.dumps({"trimmer": "bias", "to": 0}).encode()
    assert http(server.url + "turn", body, {"Content-Type": kind})[0] == 415
