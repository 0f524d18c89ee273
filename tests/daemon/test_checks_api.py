"""What the checks of the meters say in the daemon: before a session, in its notes, in the API. Made up."""

from datetime import UTC, datetime
from typing import Any

import pytest

from meterlog.procedure import Acted, ActionKind
from meterlog.records import Papers, add_meter_check, iter_events
from tests.checking.made import check
from tests.daemon.conftest import House

PAPERS = Papers(points="[checks]", bench="[bench]")
NOW = datetime.now(UTC).timestamp() * 1e9


def keep(house: House, error: float, *, days_ago: float = 0.0, **more: Any) -> None:
    """A check of the desk's bench meter, whose channel the procedure of these tests uses."""
    given = {
        "meter": "bench meter",
        "serial_number": "S-001",
        "time_ns": int(NOW - days_ago * 86400e9),
    } | more
    assert house.desk.sessions is not None
    add_meter_check(house.desk.sessions.database, check(0, error, **given), PAPERS)


def warnings(house: House) -> list[str]:
    (entry,) = house.client.get("/api/procedures").json()
    found: list[str] = entry["warnings"]
    return found


def test_nothing_is_said_of_a_meter_that_is_well_or_was_never_checked(house: House) -> None:
    assert warnings(house) == []
    keep(house, 0.1)
    keep(house, 5.0, meter="spare meter", serial_number="")  # no channel of the procedure is on it
    assert warnings(house) == []


def test_a_meter_outside_is_told_before_and_noted(house: House) -> None:
    keep(house, 1.5)
    (told,) = warnings(house)
    assert told.startswith("the meter bench meter (S-001) was outside at its last check of dc 10 V on ")
    number = house.begin()
    house.desk.writer.flush()
    assert house.desk.sessions is not None
    events = [event for _, event in iter_events(house.desk.sessions.database, number)]
    notes = [event.text for event in events if isinstance(event, Acted) and event.kind is ActionKind.NOTE]
    assert notes == [f"Known before it began: {told}"]
    report = house.client.get(f"/api/sessions/{number}/report").text
    assert "was outside at its last check of dc" in report
    (found,) = house.client.get("/api/checks/touched", params={"meter": "S-001"}).json()
    assert (found["points"], found["last_inside"]) == (["dc 10 V"], None)
    assert found["sessions"] == []  # the meter of this desk is not there: it has told nobody who it is


def test_an_overdue_check_is_told(house: House) -> None:
    keep(house, 0.1, days_ago=10.0)
    (told,) = warnings(house)
    assert "its check of dc 10 V was due on" in told
    assert told.endswith("3 days ago")


def test_the_histories(house: House) -> None:
    for days_ago in (21.0, 14.0, 7.0):
        keep(house, 0.1, days_ago=days_ago)
    keep(house, 0.1, point="ac")
    found = house.client.get("/api/checks").json()
    assert {(one["point"], len(one["checks"])) for one in found} == {("dc 10 V", 3), ("ac", 1)}
    assert len(house.client.get("/api/checks", params={"meter": "bench meter", "point": "ac"}).json()) == 1
    assert house.client.get("/api/checks", params={"meter": "no such"}).json() == []
    assert house.client.get("/api/checks", params={"since": "yesterday"}).status_code == 422
    assert house.client.get("/api/checks/touched").status_code == 422
    assert house.client.get("/api/checks/touched", params={"meter": "S-001"}).json() == []


@pytest.mark.parametrize("meter", ["S-001", "bench meter"])
def test_since_a_day_whatever_the_meter_is_like(house: House, meter: str) -> None:
    keep(house, 0.1)
    (found,) = house.client.get("/api/checks/touched", params={"meter": meter, "since": "2026-01-01"}).json()
    assert (found["last_inside"], found["points"]) == ("2026-01-01T00:00:00+00:00", [])
