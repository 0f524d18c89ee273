"""Finding instruments through the API. Ports are pseudo-terminals, listed by hand."""

import threading
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from meterlog.bench import LinkState, LinkStatus, load_bench
from meterlog.bench.find import Port, name_ports
from meterlog.daemon.board import Board
from meterlog.daemon.routes import instruments
from meterlog.daemon.scales import Scales
from meterlog.daemon.search import Search
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.handheld import DC_PLAN, Handheld
from meterlog.simulate.meter import MeterModel
from meterlog.testing import Terminal
from tests.bench.find.kit import FAST, SLOW, Knowing, talks
from tests.daemon.conftest import House
from tests.daemon.desk import PATIENCE_S, bench_in, wait_until

pytestmark = pytest.mark.wire
HELD = "TCPIP::127.0.0.1::9::SOCKET"


@pytest.fixture
def handheld(tmp_path: Path) -> Iterator[str]:
    model = MeterModel(DC_PLAN, lambda _: 1.5, "handheld")
    meter = Handheld("handheld", model, "dc", tmp_path / "handheld", RunningClock())
    meter.start()
    yield meter.address
    meter.close()


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the driver of the handheld: a silent port then takes a second."""
    from meterlog.bench.find import recognising

    monkeypatch.setattr("meterlog.daemon.search.recognising", lambda: recognising(["fs9721"]))


def look(house: House, address: str, **more: Any) -> Any:
    return house.post("/api/instruments/look", {"address": address} | more)


def entry(house: House, address: str, **more: Any) -> Any:
    return house.post("/api/instruments/entry", {"address": address} | more)


def test_ports_are_listed_with_what_the_bench_reads(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    ports = name_ports([Port("/dev/ttyUSB0", "USB serial", by_id="/dev/serial/by-id/x", usb="1:2:3")])
    monkeypatch.setattr(instruments, "serial_ports", lambda: ports)
    answer = house.client.get("/api/instruments").json()
    assert [port["address"] for port in answer["ports"]] == ["/dev/serial/by-id/x"]
    assert {"address": HELD, "instrument": "bench meter"} in answer["held"]
    assert answer["looking"] == ""
    assert 0 < answer["longest_s"] < 10
    assert answer["bench_file"].endswith("bench.toml")
    assert answer["taken_do"]


def test_a_look_says_who_is_there_and_the_entry_is_written(house: House, handheld: str) -> None:
    answer = look(house, handheld)
    assert answer.status_code == 200, answer.text
    [match] = answer.json()["matches"]
    assert (match["driver"], match["line"]) == ("fs9721", "2400 baud 8N1")
    assert match["summary"]
    assert answer.json()["shows"][0].startswith("1.")
    assert answer.json()["heard"][0]["lines"]

    shown = entry(house, handheld, channel="panel").json()
    assert not shown["written"]
    assert 'name = "panel"' in shown["text"]
    path = Path(house.client.get("/api/instruments").json()["bench_file"])
    before = path.read_text()
    assert "panel" not in before

    assert entry(house, handheld, channel="panel", write=True).json()["written"]
    assert path.read_text().startswith(before)
    assert [channel.name for channel in load_bench(path).channels] == ["output", "spare", "panel"]
    again = entry(house, handheld, channel="other", write=True)
    assert again.status_code == 422
    assert "already" in again.json()["error"]["what"]


def test_what_is_wrong_is_told_with_what_to_do(house: House) -> None:
    with Terminal() as silent:
        answer = look(house, silent.path).json()
    assert answer["trouble"] == "silent"
    assert answer["says"]
    assert answer["do"]
    assert entry(house, silent.path).status_code == 409


def test_a_line_of_the_bench_is_never_touched(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("opened")

    monkeypatch.setattr("meterlog.daemon.search.Finder", never)
    answer = look(house, "tcpip0::127.0.0.1::9::socket").json()
    assert answer["trouble"] == "held by this bench"
    assert "bench meter" in answer["says"]


def test_one_look_at_a_time(house: House) -> None:
    with Terminal() as silent:
        looking = threading.Thread(target=look, args=(house, silent.path))
        looking.start()
        wait_until(lambda: silent.path in house.client.get("/api/instruments").json()["looking"])
        second = look(house, "/dev/other")
        looking.join()
    assert second.status_code == 409
    assert silent.path in second.json()["error"]["where"]
    assert house.client.get("/api/instruments").json()["looking"] == ""


@pytest.mark.parametrize(
    ("path", "body", "status"),
    [
        ("look", {"address": "COM"}, 422),
        ("look", {"address": ""}, 422),
        ("look", {"address": "/dev/x\n"}, 422),
        ("look", {"address": "/dev/x", "more": 1}, 422),
        ("entry", {"address": "/dev/nobody-looked"}, 409),
        ("entry", {"address": "/dev/x", "coupling": "wet"}, 422),
        ("entry", {"address": "/dev/x", "name": "x" * 81}, 422),
        ("entry", {"address": "/dev/x", "function": "colour"}, 422),
    ],
)
def test_requests_that_cannot_be_are_refused_in_words(
    house: House, path: str, body: dict[str, Any], status: int
) -> None:
    answer = house.post(f"/api/instruments/{path}", body)
    assert answer.status_code == status, answer.text
    assert answer.json()["error"]["what"]


def test_writes_want_the_token(house: House) -> None:
    for path in ("look", "entry"):
        answer = house.client.post(f"/api/instruments/{path}", json={"address": "/dev/x"})
        assert answer.status_code == 403


def test_without_a_bench_file_nothing_is_written(tmp_path: Path) -> None:
    from types import SimpleNamespace

    from meterlog.daemon.errors import Refusal

    with pytest.raises(Refusal, match="not told its bench file"):
        instruments._bench_file(SimpleNamespace(bench_file=None))  # type: ignore[arg-type]


def test_the_end_of_the_daemon_ends_a_look(tmp_path: Path) -> None:
    """It would take an hour."""
    search, bench = Search(), bench_in(tmp_path)
    search.__dict__["drivers"] = {"knowing": Knowing([talks(b"a", SLOW, 1800.0), talks(b"b", FAST, 1800.0)])}
    with Terminal() as silent:
        look = partial(search.look, bench, silent.path, may_ask=True)
        looking = threading.Thread(target=look, daemon=True)
        looking.start()
        wait_until(lambda: "1200 baud" in search.doing)
        search.stop()
        looking.join(PATIENCE_S)
    assert not looking.is_alive()
    assert [heard.line for heard in search.found(silent.path).heard] == [SLOW]


def test_what_an_instrument_says_is_in_the_live_message(tmp_path: Path) -> None:
    bench = bench_in(tmp_path)
    board = Board(bench)
    said = LinkStatus("bench meter", LinkState.LIVE, "", 0, remark='-222,"Data out of range"', remarks=2)
    board.link(said)
    output, spare = board.channels(Scales(), 0)
    assert (output["remark"], output["remarks"]) == ('-222,"Data out of range"', 2)
    assert (spare["remark"], spare["remarks"]) == ("", 0)


def test_only_the_last_looks_are_kept(tmp_path: Path) -> None:
    search, bench = Search(), bench_in(tmp_path)
    for number in range(70):
        search.look(bench, f"/dev/absent{number}", may_ask=True)
    assert search.found("/dev/absent69").trouble == "not there"
    assert len(search._found) == 64
