"""In which order the files are dealt out to the workers. The files are made up."""

import pytest

from tests import workers
from tests.workers import choose, marks

MARKS = {
    "quick": set[str](),
    "slow": {"slow"},
    "wire": {"wire"},
    "wire, slow": {"wire", "slow"},
    "browser": {"browser"},
}


@pytest.fixture(autouse=True)
def made_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers, "marks", lambda file: MARKS[file])


@pytest.mark.parametrize(
    ("first_on_time", "has_slow", "order"),
    [
        (True, False, ["wire, slow", "wire", "browser", "slow", "quick"]),
        (True, True, ["wire", "browser", "wire, slow", "quick", "slow"]),
        (False, False, ["slow", "quick", "wire, slow", "wire", "browser"]),
        (False, True, ["quick", "slow", "wire", "browser", "wire, slow"]),
    ],
)
def test_its_own_kind_first_and_no_two_slow_ones_in_one_hand(
    first_on_time: bool, has_slow: bool, order: list[str]
) -> None:
    left = list(MARKS)
    dealt = []
    while left:
        dealt.append(choose(left, first_on_time=first_on_time, has_slow=has_slow))
        left.remove(dealt[-1])
    assert dealt == order


def test_marks_are_read_from_the_file() -> None:
    assert {"wire", "slow"} <= marks("tests/simulate/test_unattended.py")
