"""The API over HTTP: what it answers, and how it says no."""

import csv
import io
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.core.result import Ok

from meterlog.bench import LinkState, LinkStatus
from meterlog.daemon.access import TOKEN_HEADER
from meterlog.daemon.app import content_policy
from meterlog.procedure import Acted, ActionKind
from meterlog.reading import Identity
from meterlog.records import iter_events
from tests.daemon.conftest import TOKEN, House
from tests.daemon.desk import BENCH, PATIENCE_S, bench_in


def error_of(answer: Any) -> dict[str, Any]:
    """Every error has this one shape."""
    assert set(answer.json()) == {"error"}
    error: dict[str, Any] = answer.json()["error"]
    assert {"what", "where", "do"} <= set(error)
    assert all(isinstance(error[part], str) for part in ("what", "where", "do"))
    assert error["what"]
    return error


def settled(house: House) -> int:
    """A session with one settled value."""
    number = house.begin()
    house.desk.wait(1.5)
    house.desk.press()
    house.desk.measure(3)
    house.desk.writer.flush()
    return number


def test_status_says_how_everything_does(house: House) -> None:
    status = house.client.get("/api/status").json()
    assert status["bench"] == {"name": "Test bench", "simulate_url": None}
    assert status["session"] is None
    assert status["writer"]["error"] == ""
    assert status["live_sequence"] >= 0
    number = house.begin()
    assert house.client.get("/api/status").json()["session"] == number


def test_procedures_are_listed_with_their_problems_and_read_anew(house: House) -> None:
    (house.procedures / "bad.toml").write_text('[procedure]\ntitle = "Bad"\n')
    bad, good = house.client.get("/api/procedures").json()
    assert (good["name"], good["title"], good["problems"]) == ("two", "Two measurements", [])
    assert bad["problems"]
    assert all("bad.toml:" in problem for problem in bad["problems"])
    assert house.post("/api/sessions", {"procedure": "bad", "unit_model": "X"}).status_code == 422
    (house.procedures / "bad.toml").write_text((house.procedures / "two.toml").read_text())
    assert house.client.get("/api/procedures").json()[0]["problems"] == []


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"temperature_c": "warm"}, "body.temperature_c: write a number without quotes, not 'warm'"),
        ({"received": "soon"}, "body.received: write a date without quotes, such as 2026-03-01, not 'soon'"),
        ({"colour": "red"}, "body.colour: no such field here; look for a misspelling"),
    ],
)
def test_a_field_that_cannot_be_read_says_what_would_be_right(
    house: House, sent: dict[str, str], said: str
) -> None:
    answer = house.post("/api/sessions", {"procedure": "two", "unit_model": "X"} | sent)
    assert answer.status_code == 422
    assert error_of(answer)["problems"] == [said]


def test_a_procedure_may_be_named_by_its_path(house: House) -> None:
    path = house.procedures / "two.toml"
    assert house.post("/api/sessions", {"procedure": str(path), "unit_model": "X"}).status_code == 200


def test_an_unknown_procedure_is_answered_with_those_there_are(house: House) -> None:
    answer = house.post("/api/sessions", {"procedure": "three", "unit_model": "X"})
    assert answer.status_code == 422
    assert "two" in error_of(answer)["do"]


def test_a_bench_that_does_not_fit_is_answered_channel_by_channel(house: House) -> None:
    text = (house.procedures / "two.toml").read_text()
    other = text.replace('coupling = "ac"', 'coupling = "dc"').replace("[[step]]", OHMS + "[[step]]", 1)
    (house.procedures / "other.toml").write_text(other)
    answer = house.post("/api/sessions", {"procedure": "other", "unit_model": "X"})
    assert answer.status_code == 422
    assert error_of(answer)["problems"] == [
        "channel 'output': wanted V dc, the bench offers V ac",
        "channel 'coil': wanted ohm, the bench has no such channel",
    ]


def test_warnings_are_told_before_a_session_begins_and_kept_as_notes(house: House) -> None:
    text = (house.procedures / "two.toml").read_text()
    idle = '[[channel]]\nname = "spare"\nunit = "V"\n'
    (house.procedures / "two.toml").write_text(text.replace("[[step]]", f"{idle}[[step]]", 1))
    line = 1 + text[: text.index("[[step]]")].count("\n") + 1
    (entry,) = house.client.get("/api/procedures").json()
    (told,) = entry["warnings"]
    assert told.startswith(f"two.toml:{line}: channel.2.name: warning: no step and no guard uses 'spare'")
    assert entry["problems"] == []
    number = house.begin()
    house.desk.writer.flush()
    kept = [event for _, event in iter_events(house.desk.sessions.database, number)]
    assert [event.kind for event in kept if isinstance(event, Acted)] == [ActionKind.START, ActionKind.NOTE]
    assert kept[1].text.startswith("Known before it began: ")
    assert "uses 'spare'" in kept[1].text


OHMS = '[[channel]]\nname = "coil"\nunit = "ohm"\n'


def test_a_second_session_is_refused_while_one_runs(house: House) -> None:
    number = house.begin()
    answer = house.post("/api/sessions", {"procedure": "two", "unit_model": "X"})
    assert answer.status_code == 409
    assert f"Session {number}" in error_of(answer)["what"]


def test_the_view_is_that_of_the_stream(house: House) -> None:
    assert house.client.get("/api/session").status_code == 404
    settled(house)
    view = house.client.get("/api/session").json()
    assert view == house.desk.hub.lives[-1]["view"]
    assert view["step"] == "level-again"
    assert view["guide"]["awaiting_go_on"]


def test_actions_are_accepted_or_refused_with_the_reason(house: House) -> None:
    assert house.post("/api/session/action", {"kind": "go-on"}).status_code == 404
    house.begin()
    refused = house.post("/api/session/action", {"kind": "skip"}).json()
    assert not refused["accepted"]
    assert "why" in refused["message"]
    accepted = house.post("/api/session/action", {"kind": "skip", "text": "cold start"}).json()
    assert accepted == {"accepted": True, "message": ""}
    redo = house.post("/api/session/action", {"kind": "redo", "place": 0, "text": "once more"})
    assert redo.json()["accepted"]


def test_a_session_set_aside_is_gone_on_with_and_an_override_says_that_another_meter_is_meant(
    house: House,
) -> None:
    number = settled(house)

    def answers(serial: str) -> None:
        identity = Identity("ACME", "100", serial, "1.0", f"ACME,100,{serial},1.0")
        house.desk.runner.deliver(LinkStatus("bench meter", LinkState.CONNECTING, "", 0, identity))
        house.desk.barrier()

    def goes_on(**body: str) -> str:
        assert house.post(f"/api/sessions/{number}/go-on", body).json() == {"id": number}
        house.desk.barrier()
        return str(house.client.get("/api/session").json()["other_meters"])

    answers("1")
    house.post("/api/session/action", {"kind": "set-aside"})
    answers("2")  # as after a restart: within one run the link would refuse it
    assert "ACME,100,2,1.0" in goes_on()
    refused = house.post("/api/session/action", {"kind": "other-meter"}).json()
    assert refused == {"accepted": False, "message": "say why another meter is used"}
    house.post("/api/session/action", {"kind": "set-aside"})
    assert goes_on(override="the first is away") == ""
    actions = house.client.get(f"/api/sessions/{number}").json()["actions"]
    assert actions[-1]["kind"] == "other-meter"
    assert actions[-1]["text"].endswith(": the first is away")


@pytest.mark.parametrize(
    "body",
    [
        {"kind": "start"},
        {"kind": "interrupted"},
        {"kind": "dance"},
        {},
        {"kind": "redo", "place": -1},
        {"kind": "note", "text": "bell \a"},
        {"kind": "note", "text": "x" * 5000},
        {"kind": "go-on", "extra": 1},
    ],
)
def test_what_is_no_action_is_refused(house: House, body: dict[str, Any]) -> None:
    house.begin()
    answer = house.post("/api/session/action", body)
    assert answer.status_code == 422
    assert error_of(answer)["problems"]


def test_a_note_of_two_lines_is_kept(house: House) -> None:
    number = house.begin()
    assert house.post("/api/session/action", {"kind": "note", "text": "hum\n50 Hz, µ-metal"}).json()[
        "accepted"
    ]
    actions = house.client.get(f"/api/sessions/{number}").json()["actions"]
    assert actions[-1]["text"] == "hum\n50 Hz, µ-metal"


def test_the_record_of_a_session(house: House) -> None:
    number = settled(house)
    (line,) = house.client.get("/api/sessions").json()
    assert (line["id"], line["unit"], line["ended"], line["verdict"]) == (number, "Recorder 17", None, None)
    record = house.client.get(f"/api/sessions/{number}").json()
    assert record["settled"][0]["text"].startswith("+4.00")
    assert [ending["step"] for ending in record["endings"]] == ["warm-up", "level"]
    assert [action["kind"] for action in record["actions"]] == ["start", "go-on"]


def test_times_carry_their_offset(house: House) -> None:
    """ISO 8601 / RFC 3339: a local time without its offset is two times in an autumn night."""
    settled(house)
    began = house.client.get("/api/sessions").json()[0]["began"]
    assert began[-6] in "+-"
    assert began[-3] == ":"


def test_readings_come_page_by_page(house: House) -> None:
    number = settled(house)
    base = f"/api/sessions/{number}/readings"
    everything = house.client.get(base).json()
    assert len(everything) == 15
    first = house.client.get(base, params={"limit": 10, "channel": "output"}).json()
    rest = house.client.get(base, params={"from_ns": first[-1]["at_ns"] + 1}).json()
    assert first + rest == everything
    assert house.client.get(base, params={"channel": "spare"}).json() == []


def test_the_report_holds_all_it_needs_and_may_run_nothing(house: House) -> None:
    number = settled(house)
    answer = house.client.get(f"/api/sessions/{number}/report")
    assert answer.headers["content-type"].startswith("text/html")
    assert "Two measurements" in answer.text
    policy = answer.headers["content-security-policy"]
    assert policy.startswith("default-src 'none'")
    assert "script-src" not in policy


@pytest.mark.parametrize(
    ("name", "ending"),
    [("csv", "csv"), ("csv-semicolon", "csv"), ("jsonl", "jsonl"), ("parquet", "parquet"), ("xlsx", "xlsx")],
)
def test_exports_are_files_to_keep(house: House, name: str, ending: str) -> None:
    number = settled(house)
    answer = house.client.get(f"/api/sessions/{number}/export", params={"format": name})
    assert answer.status_code == 200
    assert f'filename="session-{number}.{ending}"' in answer.headers["content-disposition"]
    assert answer.content


def test_an_export_holds_the_settled_value(house: House) -> None:
    number = settled(house)
    text = house.client.get(f"/api/sessions/{number}/export").text
    (row,) = csv.DictReader(io.StringIO(text))
    assert float(row["value"]) == 1.2277


def test_an_unknown_export_is_answered_with_those_there_are(house: House) -> None:
    number = settled(house)
    answer = house.client.get(f"/api/sessions/{number}/export", params={"format": "stone"})
    assert answer.status_code == 422
    assert "jsonl" in error_of(answer)["what"]


@pytest.mark.parametrize(
    "path",
    ["/api/sessions/99", "/api/sessions/99/report", "/api/sessions/99/export", "/api/sessions/99/readings"],
)
def test_no_such_session(house: House, path: str) -> None:
    answer = house.client.get(path)
    assert answer.status_code == 404
    assert "99" in error_of(answer)["what"]


@pytest.mark.parametrize(
    ("method", "path"), [("GET", "/api/nothing"), ("DELETE", "/api/status"), ("GET", "/no.js")]
)
def test_errors_of_the_framework_have_the_shape_too(house: House, method: str, path: str) -> None:
    answer = house.client.request(method, path, headers={TOKEN_HEADER: TOKEN})
    assert answer.status_code in (404, 405)
    error_of(answer)


def test_a_fault_of_the_program_has_the_shape_too(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("meterlog.daemon.routes.record.list_sessions", lambda _: 1 / 0)
    answer = house.client.get("/api/sessions")
    assert answer.status_code == 500
    assert "ZeroDivisionError" in error_of(answer)["what"]


def test_the_page_is_served_under_a_strict_policy(house: House) -> None:
    answer = house.client.get("/")
    assert answer.status_code == 200
    rules = dict(rule.split(" ", 1) for rule in answer.headers["content-security-policy"].split("; "))
    assert rules["default-src"] == "'self'"
    assert rules["frame-src"] == "'none'"
    assert not any("unsafe" in sources for sources in rules.values())


def test_only_the_simulated_bench_may_be_framed(tmp_path_factory: pytest.TempPathFactory) -> None:
    text = BENCH.replace("[bench]", '[bench]\nsimulate_url = "http://127.0.0.1:5000/"', 1)
    bench = bench_in(tmp_path_factory.mktemp("simulated"), text)
    assert "frame-src http://127.0.0.1:5000;" in content_policy(bench.simulate_url)


def test_pausing_and_going_on_are_seen_in_the_view(house: House) -> None:
    house.begin()
    for kind, state in (("pause", "paused"), ("resume", "running")):
        assert house.post("/api/session/action", {"kind": kind}).json()["accepted"]
        house.desk.barrier()
        assert house.client.get("/api/session").json()["state"] == state


def test_whatever_is_asked_the_daemon_does_not_fall_over(house: House) -> None:
    """Requests made from the API's own description, good and bad."""
    settled(house)
    schema = schemathesis.openapi.from_url(f"{house.client.base_url}/api/openapi.json")
    for operation in schema.get_all_operations():
        assert isinstance(operation, Ok)
        _call_with_many(house, operation.ok())


def _call_with_many(house: House, operation: Any) -> None:
    @settings(max_examples=12, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(case=operation.as_strategy())
    def call(case: Any) -> None:
        answer = case.call(headers={TOKEN_HEADER: TOKEN}, timeout=PATIENCE_S)
        case.validate_response(answer, checks=[not_a_server_error])

    call()


@pytest.mark.parametrize("unit", ["", "  "])
def test_a_unit_without_a_model_is_refused(house: House, unit: str) -> None:
    answer = house.post("/api/sessions", {"procedure": "two", "unit_model": unit})
    assert (answer.status_code, error_of(answer)["where"]) == (422, "unit")
    assert house.client.get("/api/sessions").json() == []
