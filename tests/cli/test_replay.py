"""meterlog replay of what another version recorded, in this process for the sake of time. Made up."""

from pathlib import Path

import pytest
from sqlalchemy import text
from typer.testing import CliRunner

from meterlog.cli.main import app
from meterlog.cli.recorded import THIS
from meterlog.records import DataFolder
from meterlog.records.engine import for_writing
from tests.report.recorded import Recorded

EQUAL = "all values and verdicts are equal, only uncertainties and their factors (U, k) differ"
SINCE = ", as where they are computed otherwise since"
K = "UPDATE settled_values SET coverage_factor = 2.0"
VALUE = "UPDATE settled_values SET value = 15.5"
OLD = "UPDATE sessions SET software = 'meterlog 0.0.9'"
OURS = f"UPDATE sessions SET software = '{THIS}'"


def replayed(folder: Path, *changes: str) -> tuple[int, str]:
    engine = DataFolder(folder).open()
    with Recorded(engine) as session:
        session.settle_at(15.0)
        session.go_on()
    with for_writing(engine).begin() as connection:
        for change in changes:
            connection.execute(text(change))
    engine.dispose()
    done = CliRunner().invoke(app, ["replay", "1", "--data", str(folder)])
    return done.exit_code, done.output.splitlines()[-1]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        (
            (OLD, K),
            f"recorded by meterlog 0.0.9, replayed by {THIS}: {EQUAL}{SINCE}",
        ),
        ((OURS, K), f"{THIS}: {EQUAL}"),
        ((OLD, VALUE), f"replayed by {THIS}: 1 difference, and not of uncertainties alone"),
    ],
)
def test_it_says_who_recorded_it_and_whether_results_are_in_doubt(
    tmp_path: Path, changes: tuple[str, ...], says: str
) -> None:
    code, last = replayed(tmp_path / "data", *changes)
    assert code == 1
    assert last.endswith(says)


def test_the_same_is_the_same_whoever_recorded_it(tmp_path: Path) -> None:
    assert replayed(tmp_path / "data", OLD) == (0, "replay gives the same, to the last bit")
