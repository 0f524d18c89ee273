"""When a curve first rises above zero."""

from collections.abc import Callable


def first_above(curve: Callable[[float], float], start: float, end: float, step: float = 1.0) -> float | None:
    """The first x from `start` to `end` at which `curve` is above zero; None if there is none.

    Looks in steps, so a peak that comes and goes within one is not seen, then halves the step it found.
    """
    at, before = start, start
    while curve(at) <= 0.0:
        if at >= end:
            return None
        before, at = at, min(at + step, end)
    return _between(curve, before, at)


def _between(curve: Callable[[float], float], below: float, above: float) -> float:
    while True:
        middle = (below + above) / 2.0
        if not below < middle < above:
            return above
        if curve(middle) > 0.0:
            above = middle
        else:
            below = middle
