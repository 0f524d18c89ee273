"""Decibels of voltage ratios: 20 times the logarithm to base ten (IEC 60027-3)."""

import math

_LARGEST_DB = 20.0 * 308.25


def ratio_from_db(db: float) -> float:
    """The voltage ratio of a level difference in dB; +inf where no float is large enough."""
    return float(10.0 ** (db / 20.0)) if db < _LARGEST_DB else math.inf


def difference_db(a: float, b: float) -> float:
    """Level of a against b, dB, whatever their signs; -inf if a is nothing, +inf if only b is."""
    if a == 0.0:
        return 0.0 if b == 0.0 else -math.inf
    ratio = abs(a / b) if b else math.inf
    return 20.0 * math.log10(ratio) if ratio else -math.inf
