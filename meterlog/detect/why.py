"""Why a level is not settled, in words for the person."""

from collections.abc import Callable

from meterlog.detect.verdict import Reason, Settlement

Show = Callable[[float], str]
Words = Callable[[Settlement, Show], str]


def explain(verdict: Settlement, show: Show = "{:.3g}".format) -> str:
    """Why `verdict` is not settled, in words and numbers; "" when it is.

    `show` writes a value of the base unit as the person is used to see it, the unit included.
    """
    if verdict.reason is None:
        return ""
    words = f"{verdict.reason}: {_WORDS[verdict.reason](verdict, show)}"
    if verdict.settles_in_s is None:
        return words
    return f"{words}; settled in about {max(verdict.settles_in_s, 0.1):.1g} s if it goes on so"


def _constant(words: str) -> Words:
    return lambda verdict, show: words  # noqa: ARG005 - all are called alike


def _moving(verdict: Settlement, show: Show) -> str:
    if verdict.for_s is not None:
        return f"still for {verdict.for_s:.1f} s"
    return f"{_signed(verdict.rate_per_s or 0.0, show)} per second, {_tolerance(verdict, show)}"


def _drifting(verdict: Settlement, show: Show) -> str:
    return f"{_signed(60.0 * (verdict.rate_per_s or 0.0), show)} per minute, {_tolerance(verdict, show)}"


def _noisy(verdict: Settlement, show: Show) -> str:
    return f"{_spread(verdict, show)} over {verdict.readings} readings, {_tolerance(verdict, show)}"


def _oscillating(verdict: Settlement, show: Show) -> str:
    return f"period {verdict.period_s or 0.0:.2g} s, {_spread(verdict, show)}, {_tolerance(verdict, show)}"


def _few_counts(verdict: Settlement, show: Show) -> str:
    return f"{_tolerance(verdict, show)} is less than one count of {show(verdict.resolution)}"


def _silent(verdict: Settlement, show: Show) -> str:  # noqa: ARG001 - all are called alike
    return "no reading yet" if verdict.for_s is None else f"no reading for {verdict.for_s:.0f} s"


_WORDS: dict[Reason, Words] = {
    Reason.MOVING: _moving,
    Reason.DRIFTING: _drifting,
    Reason.NOISY: _noisy,
    Reason.OSCILLATING: _oscillating,
    Reason.FEW_COUNTS: _few_counts,
    Reason.OVERLOAD: _constant("the level is beyond the meter's range"),
    Reason.NO_VALUE: _constant("the meter shows no number"),
    Reason.HELD: _constant("the meter's display is held"),
    Reason.SILENT: _silent,
}


def _tolerance(verdict: Settlement, show: Show) -> str:
    return f"tolerance ±{show(verdict.tolerance)}"


def _spread(verdict: Settlement, show: Show) -> str:
    return f"spread {show(verdict.spread or 0.0)}"


def _signed(value: float, show: Show) -> str:
    return ("+" if value >= 0.0 else "−") + show(abs(value))
