"""Temperature and humidity of the bench: in the uncertainties, on the report, in the export, in replay."""

from pathlib import Path

import pytest
from sqlalchemy import Engine, update

from meterlog.accuracy import Environment
from meterlog.export.tables import settled_table
from meterlog.procedure import Acted, ActionKind, IllegalAction
from meterlog.procedure import Engine as Procedure
from meterlog.records import replay, schema
from meterlog.records.engine import for_writing
from meterlog.records.session import BenchUsed
from meterlog.report import open_session
from meterlog.report.build import build_report
from meterlog.report.html import report_html, sheet_html
from tests.report.recorded import Recorded, new_record
from tests.report.story import BENCH, Story

SPECIFICATION = Path("config/meters/bench-6.5-digits.toml").read_text(encoding="utf-8")
BENCH_RAIL = BenchUsed(
    since_sequence=0,
    text=BENCH.replace('name = "panel"', 'name = "rail"'),
    specifications={"bench meter": SPECIFICATION},
)


@pytest.fixture
def engine(tmp_path: Path) -> Engine:
    return new_record(tmp_path)


def recorded(engine: Engine, *told: str) -> int:
    """A rail of 15 V measured once, after the temperature was told."""
    with Recorded(engine, bench=BENCH_RAIL) as session:
        for text in told:
            session.act(ActionKind.ENVIRONMENT, text)
        session.settle_at(15.0)
        session.go_on()
    return session.id


def shares(engine: Engine, number: int) -> dict[str, float]:
    (value,) = open_session(engine, number).course.values
    return {line.source.name: line.contribution for line in value.budget}


def test_beyond_the_specification_its_coefficient_is_in_the_uncertainty(engine: Engine) -> None:
    """The file grants 0.004 % of reading and 0.0008 % of the 1000 V range within 18 to 28 degC, and 0.0005 %
    and 0.0001 % for each kelvin beyond: at 38 degC ten of them, so 0.009 % and 0.0018 %."""
    usual, hot = shares(engine, recorded(engine, "28 degC")), shares(engine, recorded(engine, "38 degC"))
    for name, ratio in (("meter, share of the reading", 0.009 / 0.004), ("meter, range and counts", 2.25)):
        assert hot[name] / usual[name] == pytest.approx(ratio, rel=1e-3)
    assert usual == pytest.approx(shares(engine, recorded(engine)))  # taken to be kept


@pytest.mark.parametrize("told", [(), ("38 degC, 45 % RH",), ("38 degC", "23 degC", "not known")])
def test_replay_gives_the_same(engine: Engine, told: tuple[str, ...]) -> None:
    assert replay(engine, recorded(engine, *told)).differences == ()


def test_a_record_with_the_earlier_word_is_read_and_replayed(engine: Engine) -> None:
    number = recorded(engine, "38 degC, 45 % RH")
    with for_writing(engine).begin() as connection:
        old = update(schema.actions).where(schema.actions.c.kind == "environment").values(kind="surroundings")
        assert connection.execute(old).rowcount == 1
    assert replay(engine, number).differences == ()
    report = build_report(open_session(engine, number))
    assert report.header.environment == "38 degC, 45 % RH"


def test_what_cannot_be_read_is_refused_and_changes_nothing() -> None:
    story = Story()
    course = Procedure(story.procedure)
    course.apply(Acted(0, ActionKind.START))
    course.apply(Acted(1, ActionKind.ENVIRONMENT, "23 degC"))
    with pytest.raises(IllegalAction, match="write them such as 23 degC, 45 % RH"):
        course.apply(Acted(2, ActionKind.ENVIRONMENT, "tropical"))
    assert course.environment == Environment(23.0)


def test_the_report_and_the_sheet_tell_them(engine: Engine) -> None:
    number = recorded(engine, "23 degC, 45 % RH", "24.5 degC (channel room)")
    report = build_report(open_session(engine, number))
    assert report.header.environment == "23 to 24.5 degC, 45 % RH"
    assert [(one.temperature, one.humidity, one.source) for one in report.environment] == [
        ("23 degC", "45 %", "as typed in"),
        ("24.5 degC", "", "channel room"),
    ]
    assert "its temperature coefficient is in the uncertainty" in report.statements.conditions
    assert not {"the temperature", "the humidity"} & set(report.statements.left_out)
    for page in (report_html(report), sheet_html(report)):
        assert "23 to 24.5\u00a0°C, 45\u00a0% RH" in page
    assert "channel room" in report_html(report)


def test_a_report_of_a_session_that_tells_none_says_so() -> None:
    report = build_report(Story().session())
    assert report.environment == ()
    assert {"the temperature", "the humidity"} <= set(report.statements.left_out)
    assert "Temperature and humidity of the place are not recorded" in report.statements.conditions


def test_the_export_has_those_that_a_value_was_taken_at(engine: Engine) -> None:
    with Recorded(engine, bench=BENCH_RAIL) as session:
        session.act(ActionKind.ENVIRONMENT, "23 degC")
        session.settle_at(15.0)
        session.act(ActionKind.ENVIRONMENT, "24 degC, 50 %")
    table = settled_table(open_session(engine, session.id))
    (row,) = table.rows
    found = dict(zip(table.columns, row, strict=True))
    assert (found["temperature"], found["humidity"]) == (23.0, None)
