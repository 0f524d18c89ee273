"""The published methods as entrants, with settings that are kept in `tuned.toml`."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tests.trials.settling.methods import METHODS, Candidate
from tests.trials.settling.run import Entrant
from tests.trials.settling.trial import Claim, Method
from tests.trials.shown import Shown

TUNED = Path(__file__).with_name("tuned.toml")
HELPED = Path(__file__).with_name("helped.toml")

Values = Mapping[str, float]


class Readable:
    """Spares a method what no statistics can tell: a display whose half count exceeds the tolerance."""

    def __init__(self, method: Method, tolerance: float) -> None:
        self._method, self._tolerance = method, tolerance

    def update(self, shown: Shown) -> Claim | None:
        claim = self._method.update(shown)
        return claim if shown.resolution <= 2.0 * self._tolerance else None


def entrant(candidate: Candidate, values: Values, name: str | None = None) -> Entrant:
    return Entrant(
        name or candidate.name,
        lambda trial: Readable(candidate.build(trial.task, **values), trial.task.tolerance),
    )


def tuned() -> list[Entrant]:
    """Every published method of which settings have been found; none before `--tune`."""
    found = _kept()
    return [entrant(METHODS[name], found[name]["settings"]) for name in METHODS if name in found]


def helped() -> list[Entrant]:
    """Published methods that are told more than their publications ask: how slow the step's things may be."""
    found = tomllib.loads(HELPED.read_text())
    return [
        entrant(METHODS[name], kept["settings"], f"{name}, dwell lengthened") for name, kept in found.items()
    ]


def keep(name: str, values: Values, training: str) -> None:
    """Write the settings of one method, with a remark on how it did in training, beside the others."""
    found = _kept() | {name: {"training": training, "settings": values}}
    lines = ["# Written by `python -m tests.trials settled --tune`: settings found on the training seeds."]
    for method in (method for method in METHODS if method in found):
        lines += ["", f'["{method}"]', f'training = "{found[method]["training"]}"', f'["{method}".settings]']
        lines += [f"{key} = {float(value)!r}" for key, value in found[method]["settings"].items()]
    TUNED.write_text("\n".join(lines) + "\n")


def _kept() -> dict[str, Any]:
    return tomllib.loads(TUNED.read_text()) if TUNED.exists() else {}
