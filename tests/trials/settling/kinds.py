"""All kinds of trial, by name. Signals are invented; their parameters are drawn wide."""

from collections.abc import Callable
from random import Random

from tests.trials.settling import kinds_meters, kinds_mixed, kinds_moves, kinds_never, kinds_noise
from tests.trials.settling.scene import Scene, play
from tests.trials.settling.trial import Trial

_THEMES = kinds_moves, kinds_meters, kinds_noise, kinds_mixed, kinds_never
_SCENES: dict[str, Callable[[Random], Scene]] = {
    scene.__name__: scene for theme in _THEMES for scene in theme.KINDS
}

KINDS = tuple(_SCENES)
BESIDE = tuple(scene.__name__ for scene in kinds_meters.BESIDE)
"""Not in the tables: faults of a driver, not of a meter."""
_SCENES |= {scene.__name__: scene for scene in kinds_meters.BESIDE}
NEVER = tuple(scene.__name__ for scene in kinds_never.KINDS)


def draw(kind: str, seed: int) -> Trial:
    """The same for the same kind and seed. One that should have plateaus is drawn again until it has."""
    dice = Random(f"{kind} {seed}")
    while True:
        trial = play(kind, seed, _SCENES[kind](dice), dice)
        if trial.plateaus or trial.reason is not None:
            return trial
