"""Who may talk to the daemon: other hosts, other origins and writes without the token may not.

That a browser lets any site open a WebSocket to a loopback port, and that the server alone must look at
the Origin, is RFC 6455 section 10.2; that a foreign name may be bent to 127.0.0.1 is known as rebinding.
"""

from typing import Any

import pytest

from meterlog.daemon.access import TOKEN_HEADER, new_token
from tests.daemon.conftest import TOKEN, House
from tests.daemon.raw_socket import ACCEPT, KEY, RawPage, accept_of
from tests.daemon.test_api import error_of

START = {"procedure": "two", "unit_model": "Recorder"}
FOREIGN_HOSTS = ["rebound.example:{port}", "127.0.0.1", "127.0.0.1:1", "", "192.168.0.2:{port}"]
FOREIGN_ORIGINS = [
    "http://rebound.example",
    "null",
    "http://127.0.0.1:1",
    "https://127.0.0.1:{port}",
    "http://localhost:{port}",  # not the name that this request uses
    "http://127.0.0.1:{port}.example",
    "",
]


@pytest.mark.parametrize("host", FOREIGN_HOSTS)
def test_a_foreign_host_gets_nothing(house: House, host: str) -> None:
    for path in ("/", "/api/status", "/api/token"):
        answer = house.client.get(path, headers={"Host": host.format(port=house.port)})
        assert answer.status_code == 403
        assert TOKEN not in answer.text
        error_of(answer)


@pytest.mark.parametrize("host", ["127.0.0.1:{port}", "localhost:{port}", "[::1]:{port}"])
def test_its_own_names_are_served(house: House, host: str) -> None:
    name = host.format(port=house.port)
    headers = {"Host": name, "Origin": f"http://{name}"}
    assert house.client.get("/api/token", headers=headers).json() == {"token": TOKEN}


@pytest.mark.parametrize("origin", FOREIGN_ORIGINS)
def test_a_foreign_origin_writes_nothing_though_it_knew_the_token(house: House, origin: str) -> None:
    headers = {TOKEN_HEADER: TOKEN, "Origin": origin.format(port=house.port)}
    answer = house.client.post("/api/sessions", json=START, headers=headers)
    assert answer.status_code == 403
    error_of(answer)
    assert house.client.get("/api/sessions").json() == []


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_browser_that_says_it_comes_from_elsewhere_writes_nothing(house: House, site: str) -> None:
    headers = {TOKEN_HEADER: TOKEN, "Sec-Fetch-Site": site}
    assert house.client.post("/api/sessions", json=START, headers=headers).status_code == 403


@pytest.mark.parametrize(
    "headers", [{}, {TOKEN_HEADER: ""}, {TOKEN_HEADER: "wrong"}, {TOKEN_HEADER: TOKEN[:-1]}]
)
def test_no_write_without_the_token(house: House, headers: dict[str, str]) -> None:
    for path, body in (("/api/sessions", START), ("/api/session/action", {"kind": "go-on"})):
        answer = house.client.post(path, json=body, headers=headers)
        assert answer.status_code == 403
        assert TOKEN_HEADER in error_of(answer)["where"]
    assert house.client.get("/api/sessions").json() == []


def test_a_token_of_strange_bytes_is_refused_not_stumbled_over(house: House) -> None:
    answer = house.client.post("/api/sessions", json=START, headers=[(TOKEN_HEADER.encode(), b"\xff\xfe")])
    assert answer.status_code == 403


def test_tokens_are_long_and_never_the_same() -> None:
    tokens = {new_token() for _ in range(100)}
    assert len(tokens) == 100
    assert min(map(len, tokens)) >= 43  # 256 bits in base64


def handshake(house: House, **headers: Any) -> str:
    with RawPage(house.port) as page:
        return page.handshake(**{name: value.format(port=house.port) for name, value in headers.items()})


def test_a_page_from_here_and_a_program_get_the_stream(house: House) -> None:
    assert accept_of(KEY) == ACCEPT, "the example of RFC 6455"
    for headers in ({"Origin": "http://127.0.0.1:{port}"}, {}):
        answer = handshake(house, Host="127.0.0.1:{port}", **headers)
        assert answer.startswith("HTTP/1.1 101")
        assert f"sec-websocket-accept: {ACCEPT}".lower() in answer.lower()


@pytest.mark.parametrize("origin", FOREIGN_ORIGINS)
def test_a_foreign_origin_gets_no_stream(house: House, origin: str) -> None:
    assert handshake(house, Host="127.0.0.1:{port}", Origin=origin).startswith("HTTP/1.1 403")
    assert len(house.desk.hub) == 0


@pytest.mark.parametrize("host", [host for host in FOREIGN_HOSTS if host])
def test_a_foreign_host_gets_no_stream(house: House, host: str) -> None:
    assert handshake(house, Host=host).startswith("HTTP/1.1 403")
    assert len(house.desk.hub) == 0
