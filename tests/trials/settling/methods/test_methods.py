"""Every method, with settings known to be good and with all others: claims what stands, not what moves."""

import math
import random

import pytest

from meterlog.reading import State
from tests.trials.settling.methods import METHODS, Candidate
from tests.trials.settling.trial import Claim, Task
from tests.trials.shown import Shown

TASK = Task(tolerance=0.1, dwell_s=2.0, period_s=0.2)
COUNT = 0.001
STEADY_S = 30.0

every = pytest.mark.parametrize("candidate", METHODS.values(), ids=METHODS)


def claims(candidate: Candidate, settings: dict[str, float], xs: list[float]) -> list[Claim | None]:
    method = candidate.build(TASK, **settings)
    return [method.update(Shown(TASK.period_s * i, x, resolution=COUNT)) for i, x in enumerate(xs)]


def steady(sigma: float) -> list[float]:
    noise = random.Random("steady")
    return [5.0 + noise.gauss(0.0, sigma) for _ in range(round(STEADY_S / TASK.period_s))]


def test_names_are_keys() -> None:
    assert all(name == candidate.name for name, candidate in METHODS.items())
    assert len(METHODS) >= 10


@every
def test_good_settings_are_among_those_tried(candidate: Candidate) -> None:
    assert candidate.good
    for good in candidate.good_settings:
        assert all(value in candidate.settings[name] for name, value in good.items())


@every
def test_a_display_that_stands_still_is_settled(candidate: Candidate) -> None:
    claim = claims(candidate, candidate.good_settings[0], [5.0] * 60)[-1]
    assert claim is not None
    assert claim.value == pytest.approx(5.0, abs=1e-9)
    assert claim.standard_uncertainty is not None
    assert claim.standard_uncertainty >= COUNT / math.sqrt(12.0) * (1.0 - 1e-9)


@every
def test_a_level_with_some_noise_is_found(candidate: Candidate) -> None:
    found = [claim for claim in claims(candidate, candidate.good_settings[0], steady(0.003)) if claim]
    assert found
    assert all(abs(claim.value - 5.0) < 0.02 for claim in found)


@every
def test_a_ramp_is_never_settled(candidate: Candidate) -> None:
    """Two tolerances per dwell, and noise."""
    ramp = [x + 0.02 * i for i, x in enumerate(steady(0.01))]
    assert not any(claims(candidate, candidate.good_settings[0], ramp))


@every
def test_an_overload_ends_the_claim(candidate: Candidate) -> None:
    method = candidate.build(TASK, **candidate.good_settings[0])
    for i in range(60):
        method.update(Shown(TASK.period_s * i, 5.0, resolution=COUNT))
    assert method.update(Shown(12.0, None, State.OVERLOAD)) is None
    assert method.update(Shown(12.2, 5.0, resolution=COUNT)) is None


@every
def test_after_a_move_the_new_level_is_claimed(candidate: Candidate) -> None:
    found = [
        claim for claim in claims(candidate, candidate.good_settings[0], [5.0] * 60 + [7.0] * 60) if claim
    ]
    assert found[-1].value == pytest.approx(7.0, abs=1e-9)
    assert all(min(abs(claim.value - 5.0), abs(claim.value - 7.0)) < TASK.tolerance for claim in found)


@every
def test_every_setting_works(candidate: Candidate) -> None:
    xs = steady(0.02)
    for name, values in candidate.settings.items():
        for value in values:
            for claim in claims(candidate, candidate.good_settings[0] | {name: value}, xs):
                if claim:
                    assert math.isfinite(claim.value)
                    assert claim.standard_uncertainty is not None
                    assert 0.0 < claim.standard_uncertainty < 1.0
