"""Run lengths of control charts from theory, apart from the product's own code.

Individuals: each week is a Bernoulli trial of the normal distribution. EWMA and CUSUM: the Markov chain of
Brook and Evans (Biometrika 59, 1972, 539-549; from memory), as Lucas and Saccucci (Technometrics 32, 1990,
1-12; from memory) use it for the EWMA: the states between the limits in narrow cells. All given the limits
that a chart really has, so that nothing hangs on how well a short baseline knows mean and scatter.
True values: mean 0, standard deviation 1.
"""

from collections.abc import Sequence

import numpy as np
from scipy.special import ndtr

CELLS = 75


def individuals_survival(low: float, high: float, means: Sequence[float]) -> np.ndarray:
    """Probability of no alarm up to each week, with these means."""
    mu = np.asarray(means)
    return np.cumprod(ndtr(high - mu) - ndtr(low - mu))


def ewma_survival(low: float, high: float, weight: float, start: float, means: Sequence[float]) -> np.ndarray:
    edges = np.linspace(low, high, CELLS + 1)
    middles = (edges[:-1] + edges[1:]) / 2.0

    def step(state: float | np.ndarray, mu: float) -> np.ndarray:
        """Rows: from each state into each cell; the rest is an alarm."""
        wanted = (edges[None, :] - (1.0 - weight) * np.atleast_1d(state)[:, None]) / weight - mu
        return np.diff(ndtr(wanted), axis=1)

    return _survival(step, middles, start, means)


def cusum_survival(
    allowance: float, decision: float, target: float, start: float, means: Sequence[float]
) -> np.ndarray:
    """Of the upper sum, which never falls below zero: its first cell is all that would."""
    edges = np.linspace(0.0, decision, CELLS + 1)
    middles = np.concatenate([[0.0], (edges[:-1] + edges[1:]) / 2.0])

    def step(state: float | np.ndarray, mu: float) -> np.ndarray:
        wanted = edges[None, :] - np.atleast_1d(state)[:, None] + target + allowance - mu
        below = ndtr(wanted)
        return np.concatenate([below[:, :1], np.diff(below, axis=1)], axis=1)

    return _survival(step, middles, start, means)


def _survival(step, middles: np.ndarray, start: float, means: Sequence[float]) -> np.ndarray:  # type: ignore[no-untyped-def]
    alive = step(start, means[0])
    left = [alive.sum()]
    for mu in means[1:]:
        alive = alive @ step(middles, mu)
        left.append(alive.sum())
    return np.asarray(left)


def weeks_between(survival: np.ndarray, share: float) -> tuple[int, int]:
    """First and last week, from 1, that a first alarm falls into with this probability in the middle."""
    found = 1.0 - survival
    tail = (1.0 - share) / 2.0
    return int(np.searchsorted(found, tail) + 1), int(np.searchsorted(found, 1.0 - tail) + 1)
