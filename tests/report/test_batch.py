"""A batch of units: how far it has come, its yield, its odd ones, its pairs. All values are made up."""

from pathlib import Path

import pytest
from sqlalchemy import Engine

from meterlog.files import FileError
from meterlog.report.batch import BatchReport, batch_report
from meterlog.report.batch_file import Batch, load_batch
from tests.report.recorded import Recorded, new_record

NAME = "June"
BATCH = Batch(
    name=NAME,
    procedure="supply",
    unit_model="Any supply",
    serials=["1", "2", "3", "4", "5", "6"],
    pair_by="rail",
)


@pytest.fixture
def record(tmp_path: Path) -> Engine:
    return new_record(tmp_path)


def done(record: Engine, serial: str, volts: float, *, redone: bool = False, batch: str = NAME) -> None:
    with Recorded(record, serial=serial, batch=batch) as unit:
        unit.settle_at(volts)
        if redone:
            unit.redo("slipped")
            unit.settle_at(volts)
        unit.go_on()


def report_of(record: Engine) -> BatchReport:
    return batch_report(record, BATCH)


def test_units_against_what_they_came_to(record: Engine) -> None:
    done(record, "1", 15.00)
    done(record, "2", 15.02, redone=True)
    done(record, "3", 16.00)
    done(record, "9", 15.01, batch="another batch")
    with Recorded(record, serial="4", batch=NAME):
        pass  # begun and left
    report = report_of(record)
    assert [(unit.serial, unit.standing, unit.first_time) for unit in report.units] == [
        ("1", "pass", True),
        ("2", "pass", False),
        ("3", "fail", False),
        ("4", "open", False),
        ("5", "not begun", False),
        ("6", "not begun", False),
    ]
    assert (report.done, report.passed, report.first_time, report.next_serial) == (3, 2, 1, "5")
    (rail,) = report.steps
    assert (rail.unit, rail.count) == ("V", 3)
    assert float(rail.median) == pytest.approx(15.02, abs=2e-3)
    assert rail.spread == pytest.approx(0.572, abs=2e-3), "standard deviation of 15.00, 15.02, 16.00"
    assert rail.cpk is not None
    assert rail.cpk < 1


def test_a_unit_done_again_counts_by_its_last_session_but_not_as_first_time(record: Engine) -> None:
    done(record, "1", 16.0)
    done(record, "1", 15.0)
    unit = report_of(record).units[0]
    assert (unit.standing, unit.session, unit.first_time) == ("pass", 2, False)


def test_the_odd_one_is_named(record: Engine) -> None:
    for serial, volts in (("1", 15.0), ("2", 15.01), ("3", 15.0), ("4", 15.01), ("5", 15.0), ("6", 15.9)):
        done(record, serial, volts)
    assert report_of(record).steps[0].apart == ("6", "outlier")


def test_units_next_to_each_other_in_value_are_pairs(record: Engine) -> None:
    for serial, volts in (("1", 15.00), ("2", 15.10), ("3", 15.01), ("4", 15.12), ("5", 15.30)):
        done(record, serial, volts)
    pairs = report_of(record).pairs
    assert [(one, other) for one, other, _ in pairs] == [("1", "3"), ("2", "4")]
    assert pairs[0][2].startswith("0.01")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[batch]\nname = "x"\n', "batch.procedure: missing"),
        (
            '[batch]\nname = "x"\nprocedure = "p"\nunit_model = "m"\nserials = ["1", "1"]\n',
            "1 stands there more than once",
        ),
        ("[batch\n", "no valid TOML"),
    ],
)
def test_a_batch_file_that_cannot_be_used_is_said(tmp_path: Path, text: str, says: str) -> None:
    path = tmp_path / "batch.toml"
    path.write_text(text)
    with pytest.raises(FileError, match=r"batch\.toml:") as caught:
        load_batch(path)
    assert says in str(caught.value)
