"""Guards and early ends through the daemon: stream, actions, record, replay. Limits are made up;
20 lg(3 V / 0.7746 V) = 11.761 dB (0 dBu as in ITU-R V.574).
"""

import csv
import io
from pathlib import Path
from typing import Any

import pytest

from meterlog.records import open_engine, replay
from tests.daemon.conftest import House
from tests.daemon.desk import PLUS_4_DBU, PROCEDURE

GUARD = """
[[guard]]
name = "Output drive"
channel = "output"
never_above = "+10 dBu"
text = "Turn it down."
"""
BEYOND_V = 3.0


@pytest.fixture
def number(house: House) -> int:
    (house.procedures / "two.toml").write_text(PROCEDURE + GUARD)
    return house.begin()


def act(house: House, kind: str, text: str = "") -> Any:
    reply = house.post("/api/session/action", {"kind": kind, "text": text}).json()
    house.desk.barrier()
    return reply


def record(house: House, number: int) -> Any:
    house.desk.writer.flush()
    return house.client.get(f"/api/sessions/{number}").json()


def test_a_trip_is_in_the_stream_the_record_the_report_and_the_exports(house: House, number: int) -> None:
    house.desk.barrier()
    assert house.desk.hub.lives[-1]["view"]["watching"] == ["Output drive: output never above +10 dBu"]
    house.desk.measure(0.4, BEYOND_V)
    view = house.desk.hub.lives[-1]["view"]
    assert (view["alarm"]["guard"], view["alarm"]["tripped"]) == ("Output drive", True)
    assert view["guide"]["cue"]["sound"] == "alarm"
    assert (view["guide"]["present_text"], view["guide"]["target_text"]) == ("+11.761 dBu", "+10.00 dBu")
    assert [trip["guard"] for trip in house.desk.hub.of("guard-tripped")] == ["Output drive"]
    assert act(house, "go-on") == {
        "accepted": False,
        "message": "Output drive: still beyond +10 dBu in the last reading. Turn it down.",
    }
    house.desk.measure(0.4, PLUS_4_DBU)
    assert act(house, "go-on")["accepted"]
    assert house.desk.hub.lives[-1]["view"]["alarm"] is None
    (trip,) = record(house, number)["trips"]
    assert (trip["guard"], trip["value"], trip["step"]) == ("Output drive", BEYOND_V, "warm-up")
    assert "Guards that tripped" in house.client.get(f"/api/sessions/{number}/report").text
    lines = house.client.get(f"/api/sessions/{number}/export", params={"format": "jsonl"}).text.splitlines()
    assert any('"type": "guard trip"' in line or '"type":"guard trip"' in line for line in lines)


@pytest.mark.parametrize(
    ("kind", "verdict", "word"),
    [("inoperable", "fail", "inoperable"), ("break-off", "not judged", "found-left")],
)
def test_an_early_end_wants_a_reason_and_tells_the_condition(
    house: House, number: int, kind: str, verdict: str, word: str
) -> None:
    assert act(house, kind)["message"] == "say why the session ends here"
    house.desk.measure(0.4, BEYOND_V)
    assert act(house, kind, "no output at all")["accepted"]
    kept = record(house, number)
    assert (kept["verdict"], kept["condition"]["word"]) == (verdict, word)
    assert "no output at all" in kept["condition"]["text"]
    assert house.desk.hub.of("session-ended")[0]["verdict"] == verdict
    text = house.client.get(f"/api/sessions/{number}/report").text
    assert f"Condition of the unit: <strong>{word}</strong>" in text
    rows = list(csv.DictReader(io.StringIO(house.client.get(f"/api/sessions/{number}/export").text)))
    assert rows == []


def test_replay_comes_to_the_same_trips(house: House, number: int, tmp_path: Path) -> None:
    house.desk.measure(0.4, BEYOND_V)
    house.desk.measure(0.4, PLUS_4_DBU)
    act(house, "go-on")
    act(house, "break-off", "enough seen")
    house.desk.writer.flush()
    database = open_engine(tmp_path / "record.sqlite3")
    assert replay(database, number).differences == ()
    database.dispose()
