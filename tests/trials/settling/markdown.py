"""Tallies as Markdown tables."""

import statistics
from collections.abc import Iterable, Mapping, Sequence

from tests.trials.settling.proportion import clopper_pearson
from tests.trials.settling.run import ByKind, total
from tests.trials.settling.score import Tally

COLUMNS = (
    "false % (95 %)",
    "missed %",
    "delay median / 90 % s",
    "hold lost %",
    "inside 2u %",
    "reason right %",
    "us/reading",
)


def by_method(found: Mapping[str, ByKind]) -> str:
    rows = [[name, *cells(total(tallies))] for name, tallies in found.items()]
    return _table(["method", *COLUMNS], rows)


def by_kind(tallies: ByKind) -> str:
    return _table(["kind", "units", *COLUMNS], [[k, str(t.units), *cells(t)] for k, t in tallies.items()])


def side_by_side(one: tuple[str, ByKind], other: tuple[str, ByKind]) -> str:
    """Per kind the two that matter: false and hold lost."""
    (name, tallies), (beside, others) = one, other
    heads = [f"{what}, {who}" for what in ("false %", "hold lost %") for who in (name, beside)]
    rows = [
        [kind, *(f"{100 * t.false_share:.2f}" for t in pair), *(_lost(t) for t in pair)]
        for kind, pair in ((kind, (tallies[kind], others[kind])) for kind in tallies)
    ]
    return _table(["kind", *heads], rows)


def cells(tally: Tally) -> list[str]:
    low, high = clopper_pearson(tally.false, tally.units)
    return [
        f"{100 * tally.false_share:.2f} ({100 * low:.2f} to {100 * high:.2f})",
        _percent(tally.missed, tally.plateaus),
        _delays(tally.delays_s),
        _lost(tally),
        _percent(tally.inside, tally.with_u),
        _percent(tally.explained, tally.asked),
        f"{1e6 * tally.seconds / max(1, tally.readings):.1f}",
    ]


def _lost(tally: Tally) -> str:
    return f"{100 * tally.lost_share:.1f}" if tally.plateaus else "-"


def _percent(part: float, of: int) -> str:
    return f"{100 * part / of:.1f}" if of else "-"


def _delays(delays_s: Sequence[float]) -> str:
    if len(delays_s) < 2:
        return "-"
    return f"{statistics.median(delays_s):.1f} / {statistics.quantiles(delays_s, n=10)[-1]:.1f}"


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)
