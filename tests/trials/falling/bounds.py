"""What the scoring is proven by: two methods that know the truth, and two that do not even look."""

from tests.trials.falling.score import SHORT, error_at
from tests.trials.falling.trial import Method, Trial
from tests.trials.shown import Shown


class _At:
    """Announces at a time told beforehand; only when a reading comes, as everybody."""

    def __init__(self, at_s: float | None) -> None:
        self._at_s = at_s

    def update(self, shown: Shown) -> bool:
        return self._at_s is not None and shown.time_s >= self._at_s


def clairvoyant(trial: Trial) -> Method:
    """Announces at the first reading after the target was truly passed."""
    return _At(trial.reached_s)


def prophet(trial: Trial) -> Method:
    """Announces at the reading, before or after, when the level is nearest the target, false alarms apart."""
    if trial.reached_s is None:
        return _At(None)
    errors = ((error_at(trial, shown.time_s), shown.time_s) for shown in trial.shown)
    return _At(min((abs(error), at_s) for error, at_s in errors if error >= -SHORT)[1])


def hasty(trial: Trial) -> Method:
    """Announces at the first reading."""
    return _At(0.0)


def deaf(trial: Trial) -> Method:
    """Never announces."""
    return _At(None)
