"""Temperature and humidity: told at the start, by action, or by the bench's own channel. Values invented."""

from pathlib import Path

import pytest

from meterlog.accuracy import Environment
from meterlog.daemon.room import Room
from meterlog.daemon.sessions import Sessions
from meterlog.procedure import ActionKind
from meterlog.quantity import Unit
from meterlog.records import Commission, Writer, load_session, migrate, open_engine, replay
from tests.daemon.conftest import House
from tests.daemon.desk import BENCH, Desk, StillClock, bench_in, reading

SENSORS = """
[[meter]]
name = "climate"
driver = "scpi"
address = "TCPIP::127.0.0.1::29::SOCKET"
[[channel]]
name = "room"
meter = "climate"
function = "temperature"
[[channel]]
name = "air"
meter = "climate"
function = "humidity"
display = 2
[laboratory]
temperature_channel = "room"
humidity_channel = "air"
"""


def told(value: float | None, known: Environment, folder: Path, channel: str = "room") -> str:
    return Room(bench_in(folder, BENCH + SENSORS)).news(reading(0, value, channel=channel), known)


@pytest.mark.parametrize(
    ("channel", "value", "known", "said"),
    [
        ("room", 23.04, Environment(), "23 degC (channel room)"),
        ("room", 23.4, Environment(23.0), ""),
        ("room", 23.5, Environment(23.0), "23.5 degC (channel room)"),
        ("air", 45.0, Environment(23.0), "45 % RH (channel air)"),
        ("air", 49.0, Environment(23.0, 45.0), ""),
        ("room", None, Environment(), ""),
        ("room", 850.0, Environment(), ""),
        ("output", 23.0, Environment(), ""),
    ],
)
def test_what_has_changed_enough_is_news(
    tmp_path: Path, channel: str, value: float | None, known: Environment, said: str
) -> None:
    assert told(value, known, tmp_path, channel) == said


def kept(house: House, number: int) -> list[str]:
    house.desk.writer.flush()
    actions = house.client.get(f"/api/sessions/{number}").json()["actions"]
    return [action["text"] for action in actions if action["kind"] == "environment"]


START = {
    "procedure": "two", "unit_model": "Recorder", "temperature_c": 23, "humidity_percent": 45,
    "customer": "A. Customer\n2 Hill Road", "customer_says": "hums", "received": "2026-11-20",
    "work_place": "at the customer's",
}  # fmt: skip


def test_what_is_told_at_the_start_is_kept_from_its_first_moment(house: House) -> None:
    number = house.post("/api/sessions", START).json()["id"]
    house.desk.writer.flush()
    summary = house.client.get(f"/api/sessions/{number}").json()
    assert [one["kind"] for one in summary["actions"]][:2] == ["start", "environment"]
    assert summary["actions"][1]["text"] == "23 degC, 45 % RH"
    assert summary["actions"][1]["at_ns"] == 0
    assert summary["commission"] == {
        "customer": "A. Customer\n2 Hill Road", "customer_says": "hums", "received": "2026-11-20",
        "work_place": "at the customer's",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("field", "value"), [("temperature_c", 230), ("humidity_percent", 101), ("received", "20.11.2026")]
)
def test_what_cannot_be_is_refused_before_it_begins(house: House, field: str, value: object) -> None:
    answer = house.post("/api/sessions", START | {field: value})
    assert answer.status_code == 422
    assert field in answer.json()["error"]["where"]
    assert house.client.get("/api/sessions").json() == []


def test_it_can_be_told_anew_and_a_slip_is_answered(house: House) -> None:
    number = house.begin()
    act = {"kind": "environment", "text": "24 degC"}
    assert house.post("/api/session/action", act).json()["accepted"]
    refused = house.post("/api/session/action", act | {"text": "24"}).json()
    assert not refused["accepted"]
    assert "such as 23 degC, 45 % RH" in refused["message"]
    assert kept(house, number) == ["24 degC"]


def test_the_channel_of_the_bench_tells_it_by_itself(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    desk.runner._room = Room(bench_in(tmp_path, BENCH + SENSORS))
    with desk:
        desk.begin()
        for value in (23.0, 23.2, 24.0):
            desk.measure(0.2, value, channel="room", unit=Unit.CELSIUS)
    texts = [event.text for event in desk.writer.events if getattr(event, "kind", "") == "environment"]
    assert texts == ["23 degC (channel room)", "24 degC (channel room)"]


def test_at_another_bench_it_is_not_known_any_more(tmp_path: Path) -> None:
    database = open_engine(tmp_path / "record.sqlite3")
    migrate(database)
    with Desk(tmp_path, Writer(database)) as desk:
        desk.sessions = Sessions(database, desk.writer, desk.bench, desk.clock)
        number = desk.begin()
        assert desk.runner.act(ActionKind.ENVIRONMENT, "35 degC").accepted
    desk.writer.close()
    writer = Writer(database)
    other = bench_in(tmp_path, BENCH.replace("Test bench", "Other bench"))
    running = Sessions(database, writer, other, StillClock()).go_on_with(number)
    assert not running.engine.environment
    writer.close()
    texts = [one.text for one in load_session(database, number).actions if one.kind == "environment"]
    assert texts == ["35 degC", "not known"]
    assert replay(database, number).differences == ()
    assert load_session(database, number).commission == Commission()
    database.dispose()
