"""The published and usual methods, each with its usual settings and those to be tried when tuning."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import product

from tests.trials.falling.methods.charts import Cusum, Ewma
from tests.trials.falling.methods.habits import InARow, ShortMean
from tests.trials.falling.methods.lines import ShortLine
from tests.trials.falling.methods.tracking import AlphaBeta
from tests.trials.falling.trial import Method, MethodFor

Settings = dict[str, float | int]

MARGINS = (-0.2, -0.1, 0.0, 0.1, 0.2)
SMOOTH = (1, 3)
LINES: dict[str, tuple[float | int, ...]] = {
    "seconds": (0.3, 0.5, 0.8, 1.2),
    "fewest": (3, 4, 5),
    "margin": MARGINS,
    "smooth": (3,),
}


@dataclass(frozen=True, slots=True)
class Known:
    """`usual` is None where there is no setting that everybody takes."""

    make: Callable[..., Method]
    grid: dict[str, tuple[float | int, ...]]
    usual: Settings | None = None

    def settings(self) -> Iterator[Settings]:
        return (dict(zip(self.grid, values, strict=True)) for values in product(*self.grid.values()))

    def with_settings(self, settings: Settings) -> MethodFor:
        return partial(self.make, **settings)


KNOWN: dict[str, Known] = {
    "first reading beyond": Known(InARow, {"readings": (1,), "margin": MARGINS}, {"readings": 1}),
    "several in a row": Known(InARow, {"readings": (2, 3, 4, 5), "margin": MARGINS}, {"readings": 3}),
    "median of several": Known(InARow, {"readings": (1,), "margin": MARGINS, "smooth": (3, 5, 7, 9)}),
    "mean of a short window": Known(
        ShortMean,
        {"seconds": (0.0, 0.3, 0.5, 0.8), "fewest": (2, 3, 5), "margin": MARGINS, "smooth": SMOOTH},
    ),
    "EWMA": Known(
        Ewma,
        {"weight": (0.1, 0.2, 0.3, 0.4, 0.5, 0.7), "margin": MARGINS, "smooth": SMOOTH},
        {"weight": 0.3},
    ),
    "CUSUM": Known(
        Cusum,
        {
            "slack": (-0.5, -0.3, -0.2, -0.1, 0.0),
            "alarm": (0.05, 0.1, 0.2, 0.4, 0.7, 1.0),
            "smooth": SMOOTH,
        },
    ),
    "short line": Known(ShortLine, LINES, {"seconds": 0.8, "fewest": 4}),
    "short line, on by the lag": Known(ShortLine, LINES | {"lag_share": (0.7, 1.0)}),
    "alpha-beta": Known(
        AlphaBeta, {"agility": (0.3, 1.0, 3.0, 10.0, 30.0, 100.0), "margin": MARGINS, "smooth": SMOOTH}
    ),
}
