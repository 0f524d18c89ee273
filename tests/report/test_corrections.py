"""Values that were corrected by a meter's own profile: what is kept, what report and export say.
Meter and response are made up; the meter shows 1.5 dB less at 10 kHz."""

from pathlib import Path

import pytest
from sqlalchemy import Engine

from meterlog.export.tables import settled_table
from meterlog.quantity import ratio_from_db
from meterlog.records import BenchUsed, load_session, replay
from meterlog.report import open_session
from meterlog.report.build import build_report
from meterlog.report.html import report_html
from meterlog.report.pdf import report_pdf
from tests.bench.test_profile_file import BENCH, TEXT
from tests.report.recorded import Recorded, new_record

PROCEDURE = """
[procedure]
title = "Top end"
revision = "1"
unit = "Amplifier"
[[channel]]
name = "rail"
unit = "V"
show = "dBu"
[[step]]
id = "top"
title = "At 10 kHz"
pattern = "measure"
channel = "rail"
frequency = "10 kHz"
target = "1 V"
tolerance = "0.5 dB"
"""
NAMES = BENCH.replace("output", "rail").replace("hand", "bench meter").replace("bench meterheld", "handheld")
USED = BenchUsed(
    since_sequence=0,
    text=NAMES,
    specifications={"bench meter": Path("config/meters/handheld-6000.toml").read_text()},
    profiles={"rail": TEXT.replace('"hand"', '"bench meter"')},
)


@pytest.fixture
def engine(tmp_path: Path) -> Engine:
    return new_record(tmp_path)


@pytest.fixture
def session(engine: Engine) -> int:
    with Recorded(engine, PROCEDURE, bench=USED) as made:
        made.settle_at(ratio_from_db(-1.5))
        made.go_on()
    return made.id


def test_the_profile_is_kept_and_the_session_replays(engine: Engine, session: int) -> None:
    record = load_session(engine, session)
    assert record.benches[0].profiles == USED.profiles
    (value,) = record.settled_values
    assert value.value == pytest.approx(1.0, abs=1e-3)
    assert value.correction == pytest.approx(ratio_from_db(1.5))
    assert replay(engine, session).differences == ()


def test_report_and_export_say_by_how_much_and_by_what(engine: Engine, session: int) -> None:
    opened = open_session(engine, session)
    report = build_report(opened)
    (row,) = report.rows
    assert row.found.corrected == "corrected by +1.50 dB at 10 kHz, profile of 2026-05-02"
    html = report_html(report)
    assert row.found.corrected in html
    (meter,) = report.meters
    (words,) = meter.profiles
    assert words.startswith(
        "Own frequency response, 100 Hz to 10 kHz, measured 2026-05-02 against bench meter: taken out of the "
        "readings of rail. SHA-256 "
    )
    assert words in html
    assert report_pdf(report).startswith(b"%PDF")
    table = settled_table(opened)
    (cells,) = table.rows
    assert dict(zip(table.columns, cells, strict=True))["correction dB"] == pytest.approx(1.5)
