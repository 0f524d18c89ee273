"""Values that no channel gives, from the engine through the record to report, exports and the live stream."""

import csv
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine

from meterlog.daemon.messages import settled_json, view_json
from meterlog.daemon.scales import Scales
from meterlog.export import FORMATS, write_export
from meterlog.procedure import Engine as Procedure
from meterlog.procedure import load_procedure_text
from meterlog.quantity import Unit
from meterlog.records import build_engine, load_session, replay
from meterlog.report import open_session
from meterlog.report.build import build_report
from meterlog.report.html import report_html
from meterlog.report.model import Report
from meterlog.report.standing import Standing
from tests.report.recorded import Recorded, new_record

TEXT = """
[procedure]
title = "Idle current"
revision = "1"
unit = "Any amplifier"
[[channel]]
name = "rail"
unit = "V"
[[step]]
id = "drop"
title = "Drop on the resistor"
pattern = "manual"
show = "mV"
uncertainty = "0.5 mV"
[[step]]
id = "idle"
title = "Idle current"
pattern = "derived"
kind = "current"
of = "drop"
resistor = "1 ohm"
resistor_tolerance = "1 %"
target = "35 mA"
tolerance = "5 mA"
[[step]]
id = "rail"
title = "Rail"
pattern = "derived"
kind = "deviation"
channel = "rail"
nominal = "15 V"
settle = "10 mV"
target = "0 %"
tolerance = "1.5 %"
[[step]]
id = "reduction"
title = "Reduction meter"
pattern = "manual"
show = "dB"
uncertainty = "0.2 dB"
target = "3 dB"
tolerance = "0.5 dB"
[[step]]
id = "sign"
title = "Signature"
pattern = "sign"
"""


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Engine, int]]:
    engine = new_record(tmp_path_factory.mktemp("record"))
    with Recorded(engine, TEXT) as session:
        session.enter("36.2")
        session.tick()
        session.settle_at(15.03)
        session.enter("3.2")
        session.enter("M. <Tern>")
        session.go_on()
    yield engine, session.id
    engine.dispose()


@pytest.fixture(scope="module")
def report(recorded: tuple[Engine, int]) -> Report:
    return build_report(open_session(*recorded))


def test_each_value_is_shown_on_its_own_scale(report: Report) -> None:
    """1 mV on 1 ohm is 1 mA (Ohm's law); 15.03 V is 0.2 % above 15 V; 3 dB stay 3 dB."""
    shown = [(row.title, row.line, row.found.shown) for row in report.rows]
    texts = [(title, line, f"{one.value} {one.unit}") for title, line, one in shown if one is not None]
    assert texts[0] == ("Drop on the resistor", "", "36.20 mV")
    assert texts[1] == ("Idle current", "", "36.20 mA")
    assert (texts[2][0], texts[2][2][:4]) == ("Rail", "15.0")
    assert texts[3][1] == "deviation"
    assert texts[3][2].startswith("0.2")
    assert texts[3][2].endswith(" %")
    assert texts[4] == ("Reduction meter", "", "+3.20 dB")
    targets = [(row.target, row.window) for row in report.rows]
    assert targets[1] == ("35.0 mA", "30.0 to 40.0")
    assert targets[3] == ("0.0 %", "-1.5 to 1.5")
    assert targets[4] == ("+3.00 dB", "+2.50 to +3.50")
    assert report.as_found.standing is Standing.PASS


def test_a_row_without_a_value_still_says_what_it_aims_at(tmp_path: Path) -> None:
    engine = new_record(tmp_path)
    with Recorded(engine, TEXT) as session:
        session.enter("36.2")
    rows = build_report(open_session(engine, session.id)).rows
    assert [(row.target, row.window) for row in rows][1:] == [
        ("35.0 mA", "30.0 to 40.0"),
        ("", ""),
        ("0.0 %", "-1.5 to 1.5"),
        ("+3.0 dB", "+2.5 to +3.5"),
    ]
    engine.dispose()


def test_the_signature_stands_under_what_was_signed(report: Report) -> None:
    assert report.signature is not None
    assert report.signature.name == "M. <Tern>"
    page = report_html(report)
    assert "Signed by M. &lt;Tern&gt;" in page
    assert (
        f"for {report.header.number}, by the procedure with SHA-256 {report.header.procedure_digest}" in page
    )


def test_a_signature_from_before_a_redo_is_none(tmp_path: Path) -> None:
    engine = new_record(tmp_path)
    with Recorded(
        engine,
        TEXT.replace(TEXT[TEXT.index('[[step]]\nid = "idle"') : TEXT.index('[[step]]\nid = "sign"')], ""),
    ) as session:
        session.enter("36.2")
        session.enter("M. Tern")
        session.redo("wrong lead")
    report = build_report(open_session(engine, session.id))
    assert report.signature is None
    assert "Signed by" not in report_html(report)
    engine.dispose()


@pytest.mark.parametrize("name", sorted(FORMATS))
def test_every_export_takes_a_value_without_a_channel(
    recorded: tuple[Engine, int], tmp_path: Path, name: str
) -> None:
    written = write_export(*recorded, name, tmp_path / "export.x", readings=True)
    assert all(path.stat().st_size for path in written)


def test_exports_hold_base_units_and_what_is_shown(recorded: tuple[Engine, int], tmp_path: Path) -> None:
    (path,) = write_export(*recorded, "csv", tmp_path / "export.csv")
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    current, reduction = rows[1], rows[-1]
    assert (current["channel"], current["role"], current["unit"], current["shown unit"]) == (
        "",
        "derived",
        "A",
        "mA",
    )
    assert float(current["value"]) == pytest.approx(0.0362)
    assert float(current["shown value"]) == pytest.approx(36.2)
    assert (reduction["role"], reduction["unit"], reduction["shown unit"]) == ("entered", "", "dB")
    assert float(reduction["shown value"]) == pytest.approx(3.2)


def test_the_record_replays_to_the_last_bit(recorded: tuple[Engine, int]) -> None:
    record = load_session(*recorded)
    assert [value.unit for value in record.settled_values][-2:] == [Unit.NONE, Unit.NONE]
    assert list(replay(*recorded, build_engine).differences) == []


def test_the_stream_shows_them_and_what_is_asked_for() -> None:
    procedure = load_procedure_text(TEXT, "p.toml")
    engine, scales = Procedure(procedure), Scales({}, procedure)
    guide = view_json(engine.view(), Unit.NONE, scales)["guide"]
    assert (guide["asks_for"], guide["channel"]) == ("reading in mV", "")
    json.dumps(guide, allow_nan=False)


def test_a_stored_value_is_told_in_its_own_unit(recorded: tuple[Engine, int]) -> None:
    record, scales = load_session(*recorded), Scales({}, load_procedure_text(TEXT, "p.toml"))
    told = [settled_json(value, scales)["text"] for value in record.settled_values]
    assert (told[0], told[1], told[-1]) == ("36.20 mV", "36.20 mA", "+3.20 dB")
