"""How often a wrong verdict is to be expected of a meter, over many units: false acceptance and rejection.

The units' true values and the errors of measurement are taken as normal about the middle of the window
(JCGM 106:2012, 9; NCSLI RP-19, draft table; Deaver 1993). What is not known of a bench is how good its units
are; USUAL_IN_TOLERANCE is the habit of the trade's tables.
"""

import math
from collections.abc import Callable
from typing import NamedTuple

USUAL_IN_TOLERANCE = 0.95


class Risk(NamedTuple):
    """Probabilities, of all units: that one is accepted though it is outside, and refused though inside."""

    false_accept: float
    false_reject: float


def global_risk(limit: float, ratio: float, acceptance: float = 1.0) -> Risk:
    """Of one window for many units.

    limit       half the window, in standard deviations of the units
    ratio       standard deviation of the units over the standard uncertainty of the measurement
    acceptance  where acceptance ends, as a part of the limit: below 1 with a guard band
    """
    edge, blur = acceptance * limit, 1.0 / ratio

    def accepted(value: float) -> float:
        return _below((edge - value) / blur) - _below((-edge - value) / blur)

    inside = _integral(lambda value: _density(value) * accepted(value), -limit, limit)
    in_tolerance = _below(limit) - _below(-limit)
    taken = _below(edge / math.hypot(1.0, blur)) - _below(-edge / math.hypot(1.0, blur))
    return Risk(false_accept=max(0.0, taken - inside), false_reject=max(0.0, in_tolerance - inside))


def risk_of_ratio(
    test_uncertainty_ratio: float, in_tolerance: float = USUAL_IN_TOLERANCE, acceptance: float = 1.0
) -> Risk:
    """Of a meter whose uncertainty (k = 2) goes so often into half the window, for units of which that part
    is truly inside; `acceptance` as of `global_risk`. ValueError for a part that is not between 0 and 1."""
    limit = half_window_of(in_tolerance)
    return global_risk(limit, 2.0 * test_uncertainty_ratio / limit, acceptance)


def worst_false_accept(test_uncertainty_ratio: float, acceptance: float = 1.0) -> float:
    """The largest probability of false acceptance, whatever the units are like (ANSI/NCSL Z540.3-2006)."""
    from scipy.optimize import minimize_scalar  # noqa: PLC0415 - slow to load, and seldom needed

    def found(in_tolerance: float) -> float:
        return -risk_of_ratio(test_uncertainty_ratio, in_tolerance, acceptance).false_accept

    best = minimize_scalar(found, bounds=(0.01, 0.9999), method="bounded", options={"xatol": 1e-6})
    return float(-best.fun)


def half_window_of(in_tolerance: float) -> float:
    """In standard deviations of the units, of which that part lies inside."""
    from statistics import NormalDist  # noqa: PLC0415

    if not 0.0 < in_tolerance < 1.0:
        raise ValueError(f"{in_tolerance} of the units cannot be inside; a part between 0 and 1 is wanted")
    return NormalDist().inv_cdf(0.5 + in_tolerance / 2.0)


def _below(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def _density(z: float) -> float:
    return math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)


def _integral(function: Callable[[float], float], low: float, high: float) -> float:
    from scipy.integrate import quad  # noqa: PLC0415 - slow to load, and seldom needed

    return float(quad(function, low, high, epsabs=1e-12, epsrel=1e-10, limit=200)[0])
