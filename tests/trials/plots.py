"""Draws what the detectors do in their worst kinds of signal, and how long and how well a hand does.

`python -m tests.trials plots FOLDER` writes pictures there; docs/detectors.md shows them.
"""

import math
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import altair as alt
import vl_convert

from tests.trials.falling import ours as falling_ours
from tests.trials.falling.kinds import draw as draw_fall
from tests.trials.falling.trial import Trial as FallTrial
from tests.trials.feel.runs import points, results
from tests.trials.settling.kinds import draw
from tests.trials.settling.ours import Ours
from tests.trials.settling.trial import Trial
from tests.trials.shown import Shown

WORST_SETTLED = (("slow_beat", 3), ("noise_floor", 9), ("warm_up", 1))
WORST_FALLEN = (("range change", 1), ("averaging, untold", 2), ("asked too often", 0))
"""Kinds with the most of the hold lost and the largest mean error, each with a seed that shows why."""

FINE_S = 0.05
LEFT_DB = alt.Scale(type="log", domain=[0.002, 1.0], clamp=True)
Rows = list[dict[str, Any]]
Unit = Callable[[float, float], float]


def main(argv: list[str]) -> None:
    if len(argv) != 1:
        sys.exit("say where: python -m tests.trials plots FOLDER")
    folder = Path(argv[0])
    folder.mkdir(parents=True, exist_ok=True)
    for kind, seed in WORST_SETTLED:
        _write(folder / f"settled-{_file(kind)}.png", settled(draw(kind, seed)))
    for kind, seed in WORST_FALLEN:
        _write(folder / f"fallen-{_file(kind)}.png", fallen(draw_fall(kind, seed)))
    _write(folder / "feel.png", feel(points(results(300))))


def _file(kind: str) -> str:
    return kind.replace(", ", "-").replace(" ", "-").replace("_", "-")


def _write(path: Path, chart: Any) -> None:
    path.write_bytes(vl_convert.vegalite_to_png(chart.to_dict(), scale=1.5))
    print(path)


def settled(trial: Trial) -> Any:
    """Readings and response about the level tended to, the plateaus, and where the product claimed what."""

    def unit(time_s: float, value: float) -> float:
        level = trial.tends_to(time_s)
        return math.nan if level is None else (value - level) / trial.task.tolerance

    held = [{"from": p.settled_s, "to": p.ends_s, "low": -1.0, "high": 1.0} for p in trial.plateaus]
    method, claims, before = Ours(trial.task), [], None
    for shown in trial.shown:
        claim = method.update(shown)
        if claim is not None and before is None:
            claims.append({"s": shown.time_s, "y": unit(shown.time_s, claim.value)})
        before = claim
    title = f"{trial.kind}, seed {trial.seed}: dwell {trial.task.dwell_s:.1f} s"
    y = alt.Y("y:Q", title="tolerances from the level", scale=alt.Scale(domain=[-4.0, 4.0]))
    return alt.layer(
        _band(held),
        _line(trial.response, trial.shown, unit),
        _dots(trial.shown, unit, y),
        _marks(claims),
    ).properties(width=680, height=220, title=title)


def fallen(trial: FallTrial) -> Any:
    """Readings, the true level with the target within a quarter of the way, and where it was announced."""
    task = trial.task

    def unit(_: float, value: float) -> float:
        return (value - task.target) / (task.peak - task.target)

    method = falling_ours.Ours(task)
    at_s = next((shown.time_s for shown in trial.shown if method.update(shown)), None)
    marks = [{"s": at_s, "y": unit(at_s, trial.level(at_s))}] if at_s is not None else []
    begins_s, ends_s = trial.shown[0].time_s, trial.shown[-1].time_s
    target = [{"from": begins_s, "to": ends_s, "low": -0.25, "high": 0.25}]
    title = f"{trial.kind}, seed {trial.seed}: 1 is the peak, 0 the target"
    y = alt.Y("y:Q", title="parts of the way to go", scale=alt.Scale(domain=[-1.6, 1.4], clamp=True))
    return alt.layer(
        _band(target),
        _line(trial.level, trial.shown, unit),
        _dots(trial.shown, unit, y),
        _marks(marks),
    ).properties(width=680, height=220, title=title)


def feel(found: Iterable[tuple[str, str, float, float]]) -> Any:
    """Each run one dot: how long it took, how far from the target the level was left."""
    rows = [{"guided by": c, "job": job, "dB": max(error, 1e-3), "s": s} for c, job, error, s in found]
    chart = (
        alt.Chart(alt.InlineData(values=rows))
        .mark_point(opacity=0.45, size=14, filled=True)
        .encode(
            x=alt.X("s:Q", title="time, s", scale=alt.Scale(domain=[0, 60], clamp=True)),
            y=alt.Y("dB:Q", title="error left, dB", scale=LEFT_DB),
            color=alt.Color("guided by:N", scale=alt.Scale(range=["#2f5d73", "#b5651d", "#8a8f57"])),
            shape="guided by:N",
        )
        .properties(width=320, height=240)
    )
    return chart.facet(column=alt.Column("job:N", title=None))


def _band(rows: Rows) -> Any:
    return (
        alt.Chart(alt.InlineData(values=rows))
        .mark_rect(color="#dfe7d5")
        .encode(x="from:Q", x2="to:Q", y="low:Q", y2="high:Q")
    )


def _line(truth: Callable[[float], float], shown: tuple[Shown, ...], unit: Unit) -> Any:
    ends_s = shown[-1].time_s
    rows = [{"s": i * FINE_S, "y": unit(i * FINE_S, truth(i * FINE_S))} for i in range(int(ends_s / FINE_S))]
    line = alt.Chart(alt.InlineData(values=rows)).mark_line(color="#2f5d73", clip=True, strokeWidth=1)
    return line.encode(x="s:Q", y="y:Q")


def _dots(shown: tuple[Shown, ...], unit: Unit, y: alt.Y) -> Any:
    rows = [{"s": s.time_s, "y": unit(s.time_s, s.value)} for s in shown if s.value is not None]
    dots = alt.Chart(alt.InlineData(values=rows)).mark_point(color="#77828b", size=6, clip=True)
    return dots.encode(x=alt.X("s:Q", title="s"), y=y)


def _marks(rows: Rows) -> Any:
    marks = alt.Chart(alt.InlineData(values=rows)).mark_point(
        color="#a33b2e", size=90, shape="diamond", filled=True, clip=True
    )
    return marks.encode(x="s:Q", y="y:Q")
