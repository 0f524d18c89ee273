"""The care every method gets: what restarts it and what it never sees."""

import pytest

from meterlog.reading import State
from tests.trials.settling.methods.streaming import Batch, Streaming
from tests.trials.settling.trial import Claim, Task
from tests.trials.shown import Shown

TASK = Task(tolerance=1.0, dwell_s=2.0, period_s=0.5)


class Listener:
    """A judge that claims whatever came last and remembers what it was given since it was restarted."""

    def __init__(self) -> None:
        self.taken: list[tuple[float, float]] = []

    def restart(self) -> None:
        self.taken = []

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        self.taken.append((time_s, value))
        return Claim(value)


def heard(values: list[float | Shown], *, spike: float = 0.0, batch: float = 0.0) -> list[float]:
    judge = Listener()
    method = Streaming(TASK, judge, spike=spike, batch=batch)
    for i, value in enumerate(values):
        method.update(value if isinstance(value, Shown) else Shown(0.5 * i, value))
    return [value for _, value in judge.taken]


def test_no_claim_before_a_dwell() -> None:
    method = Streaming(TASK, Listener())
    claims = [method.update(Shown(0.5 * i, 5.0)) for i in range(6)]
    assert claims == [None] * 4 + [Claim(5.0)] * 2


def test_a_meter_that_averages_longer_lengthens_the_dwell() -> None:
    method = Streaming(Task(tolerance=1.0, dwell_s=2.0, period_s=0.5, lag_s=2.5), Listener())
    claims = [method.update(Shown(0.5 * i, 5.0)) for i in range(6)]
    assert claims == [None] * 5 + [Claim(5.0)]


def test_a_reading_not_later_than_the_last_changes_nothing() -> None:
    method = Streaming(TASK, Listener())
    claims = [method.update(Shown(0.5 * i, 5.0)) for i in range(6)]
    assert method.update(Shown(2.5, 7.0)) == claims[-1]
    assert method.update(Shown(0.1, 7.0)) == claims[-1]


@pytest.mark.parametrize(
    "break_",
    [
        Shown(1.5, None, State.OVERLOAD),
        Shown(4.0, 5.0),  # after a gap
        Shown(1.5, 5.0, range_max=10.0),
    ],
)
def test_breaks_begin_anew(break_: Shown) -> None:
    judge = Listener()
    method = Streaming(TASK, judge)
    for i in range(3):
        method.update(Shown(0.5 * i, 5.0))
    assert method.update(break_) is None
    assert len(judge.taken) == (0 if break_.value is None else 1)


def test_a_jump_begins_anew_once_a_second_reading_confirms_it() -> None:
    assert heard([5.0, 5.1, 4.9, 8.0]) == [5.0, 5.1, 4.9, 8.0]
    assert heard([5.0, 5.1, 4.9, 8.0, 8.1]) == [8.0, 8.1]
    assert heard([5.0, 5.1, 4.9, 8.0, 8.1], spike=2.0) == [8.0, 8.1]


def test_noise_is_no_jump() -> None:
    noisy: list[float | Shown] = [0.0, 1.5, -1.0, 1.0, -1.5, 0.5, 2.5, 2.6]
    assert heard(noisy) == noisy


def test_a_lone_outlier_is_dropped_or_smoothed_if_asked_for() -> None:
    assert heard([5.0, 5.1, 9.0, 5.2, 5.0]) == [5.0, 5.1, 9.0, 5.2, 5.0]
    assert heard([5.0, 5.1, 9.0, 5.2, 5.0], spike=2.0) == [5.0, 5.1, 5.2, 5.0]
    assert heard([5.0, 5.1, 9.0, 5.2, 5.0], spike=1.0) == [5.0, 5.1, 5.1, 5.2, 5.2]


def test_readings_are_averaged_over_batches() -> None:
    assert heard([1.0, 1.5, 1.0, 1.5, 1.0], batch=0.5) == [1.25, 1.25]
    assert heard([1.0, 1.5, 1.0], batch=0.1) == [1.0, 1.5, 1.0]


def test_a_batch_ends_before_the_reading_that_would_exceed_it() -> None:
    batch = Batch(1.0)
    means = [batch.add(0.3 * i, float(i), 0.3) for i in range(8)]
    assert [mean[1] for mean in means if mean] == [1.5, 5.5]
