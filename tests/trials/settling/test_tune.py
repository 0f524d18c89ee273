"""Tuning picks what it should, and what it found comes back from the file."""

from pathlib import Path

import pytest

from tests.trials.settling import published
from tests.trials.settling.bounds import Clairvoyant
from tests.trials.settling.kinds import draw
from tests.trials.settling.methods import METHODS, Candidate
from tests.trials.settling.score import Tally
from tests.trials.settling.trial import Claim, Method, Task, Trial
from tests.trials.settling.tune import merit, settings_of, tune
from tests.trials.shown import Shown

TRIALS = [draw(kind, seed) for seed in range(2) for kind in ("first_order", "ramp")]


class Waits:
    """Claims the last reading once it has not changed by more than the tolerance for some dwells."""

    def __init__(self, task: Task, dwells: float) -> None:
        self._tolerance, self._wait_s = task.tolerance, dwells * task.dwell_s
        self._since: Shown | None = None

    def update(self, shown: Shown) -> Claim | None:
        assert shown.value is not None
        since = self._since
        if since is None or since.value is None or abs(shown.value - since.value) > self._tolerance:
            since = self._since = shown
        return Claim(shown.value) if shown.time_s - since.time_s >= self._wait_s else None


def build(task: Task, *, dwells: float) -> Method:
    return Waits(task, dwells)


def test_the_quickest_without_false_captures_wins() -> None:
    quick_first = Candidate("waits", "made for this test", {"dwells": (0.0, 6.0, 20.0)}, build)
    values, remark = tune(quick_first, TRIALS)
    assert values == {"dwells": 6.0}
    assert remark.startswith("0.00 % false")


def test_when_all_are_false_it_says_so() -> None:
    hopeless = Candidate("waits", "made for this test", {"dwells": (0.0, 0.1)}, build)
    assert "none gets below" in tune(hopeless, TRIALS)[1]


def test_few_false_captures_come_before_little_lost() -> None:
    quick = Tally(units=1000, false=2, plateaus=10, delays_s=[0.0] * 10)
    slow = Tally(units=1000, false=1, plateaus=10)
    assert merit(slow) < merit(quick)


def test_no_more_than_forty_settings_and_the_same_ones_again() -> None:
    for candidate in METHODS.values():
        settings = settings_of(candidate)
        assert 1 <= len(settings) <= 40
        assert settings == settings_of(candidate)
        assert len({tuple(sorted(values.items())) for values in settings}) == len(settings)


def test_settings_come_back_from_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(published, "TUNED", tmp_path / "tuned.toml")
    assert published.tuned() == []
    for name in list(METHODS)[:3]:
        published.keep(name, settings_of(METHODS[name])[0], "0.10 % false")
    assert [entrant.name for entrant in published.tuned()] == list(METHODS)[:3]
    for entrant in published.tuned():
        assert entrant.build(TRIALS[0]).update(TRIALS[0].shown[0]) is None


def test_a_display_that_cannot_tell_is_never_claimed() -> None:
    coarse: Trial = draw("few_counts", 1)
    readable = published.Readable(build(coarse.task, dwells=0.0), coarse.task.tolerance)
    assert {readable.update(shown) for shown in coarse.shown} == {None}


def test_a_display_that_can_tell_is_left_alone() -> None:
    trial = TRIALS[0]
    bare, spared = Clairvoyant(trial), published.Readable(Clairvoyant(trial), trial.task.tolerance)
    assert [bare.update(shown) for shown in trial.shown] == [spared.update(shown) for shown in trial.shown]
