"""The tape machine's physics against textbook numbers, and against what the steps rely on."""

import math
from collections.abc import Mapping
from itertools import pairwise
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.simulate.scenarios import tape_machine
from meterlog.simulate.scenarios.tape_machine import (
    AZIMUTH_TONE,
    PLAY,
    RECORD,
    REFERENCE_LEVEL,
    STOP,
    TapeMachine,
    azimuth_loss_db,
    dbu,
    volts,
)
from meterlog.simulate.unit import Positions, Trimmer

WARM_S = 1000.0
UNIT = TapeMachine(seed=3)


def positions(
    trimmers: Mapping[str, float] = MappingProxyType({}), lit: bool = False, **controls: Any
) -> Positions:
    places = {name: plan.start for name, plan in UNIT.trimmers.items()} | dict(trimmers)
    settings = {name: control.start for name, control in UNIT.controls.items()} | controls
    return Positions({name: Trimmer(at, at, 0.0) for name, at in places.items()}, settings, lit)


def output_dbu(at: Positions, time_s: float = WARM_S) -> float:
    return dbu(UNIT.outputs(at, at, time_s)["output"])


def panel_mv(zero: float, scale: float, **controls: Any) -> float:
    at = positions({"meter zero": zero, "meter scale": scale}, **controls)
    return 1000 * UNIT.outputs(at, at, WARM_S)["panel"]


def bias_curve(frequency_hz: float) -> list[float]:
    tone: dict[str, Any] = {
        "transport": RECORD,
        "oscillator": True,
        "frequency_hz": frequency_hz,
        "level_dbu": -16.0,
    }
    return [output_dbu(positions({"bias": place / 200}, **tone)) for place in range(201)]


def test_levels_are_dbu() -> None:
    # Computed by hand from 0 dBu = sqrt(0.6) V.
    assert volts(4) == pytest.approx(1.2277, abs=5e-5)
    assert volts(18) == pytest.approx(6.153, abs=5e-4)


def test_azimuth_loss_is_the_textbook_curve() -> None:
    # sin(x)/x: first null where the gap spans one wavelength over the track, first side peak -13.26 dB.
    null_rad = math.atan(tape_machine.SPEED_M_S / 10_000 / tape_machine.TRACK_M)
    assert azimuth_loss_db(null_rad, 10_000) == pytest.approx(-80, abs=1)
    assert azimuth_loss_db(math.atan(1.4303 * math.tan(null_rad)), 10_000) == pytest.approx(-13.26, abs=0.01)
    assert azimuth_loss_db(0.0, 10_000) == 0.0


def test_azimuth_has_one_main_peak_and_side_peaks() -> None:
    play: dict[str, Any] = {"transport": PLAY, "section": AZIMUTH_TONE}
    curve = [output_dbu(positions({"azimuth": place / 400}, **play)) for place in range(401)]
    peaks = [i for i in range(1, 400) if curve[i - 1] < curve[i] > curve[i + 1]]
    heights = sorted((curve[i] for i in peaks), reverse=True)
    assert len(peaks) >= 3
    assert heights[0] - heights[1] > 10


@pytest.mark.parametrize("frequency_hz", [1000.0, 5000.0, 10_000.0])
def test_bias_has_a_single_peak_away_from_the_ends(frequency_hz: float) -> None:
    curve = bias_curve(frequency_hz)
    top = curve.index(max(curve))
    assert 20 < top < 180
    assert all(a < b for a, b in pairwise(curve[: top + 1]))
    assert all(a > b for a, b in pairwise(curve[top:]))


def test_bias_falls_by_more_than_three_decibels_beyond_the_peak_of_short_waves() -> None:
    curve = bias_curve(10_000)
    assert max(curve) - curve[-1] > 5
    assert max(curve) - curve[0] > 5


def test_scale_and_zero_disturb_each_other_by_the_stated_ratio() -> None:
    tone: dict[str, Any] = {"oscillator": True, "level_dbu": 4.0 - 20 * math.log10(10_000 / 10_600)}
    zero, scale, step = 0.5, 0.5, 0.01
    d_zero = (panel_mv(zero + step, scale) - panel_mv(zero, scale)) / step
    d_both = (panel_mv(zero + step, scale, **tone) - panel_mv(zero, scale, **tone)) / step
    s_zero = (panel_mv(zero, scale + step) - panel_mv(zero, scale)) / step
    s_both = (panel_mv(zero, scale + step, **tone) - panel_mv(zero, scale, **tone)) / step
    assert (s_zero * d_both) / (d_zero * s_both) == pytest.approx(0.3077, abs=0.005)


def test_alternating_zero_and_scale_shrinks_the_error_by_that_ratio_each_round() -> None:
    tone: dict[str, Any] = {"oscillator": True, "level_dbu": 4.0 - 20 * math.log10(10_000 / 10_600)}
    zero, scale = 0.31, 0.25
    errors = []
    for _ in range(5):
        zero += panel_mv(zero, scale) / 120  # one travel of the zero trimmer is 120 mV
        errors.append(abs(panel_mv(zero, scale, **tone) - 200))
        scale += (200 - panel_mv(zero, scale, **tone)) / 1000 / (0.4 * 0.2889)
    ratios = [later / earlier for earlier, later in pairwise(errors)]
    assert ratios == pytest.approx([0.3077] * 4, abs=0.01)


def test_panel_shows_reference_level_when_both_are_right() -> None:
    tone: dict[str, Any] = {"oscillator": True, "level_dbu": 4.0 - 20 * math.log10(10_000 / 10_600)}
    assert panel_mv(0.5, 0.5) == pytest.approx(0.0, abs=0.2)
    assert panel_mv(0.5, 0.5, **tone) == pytest.approx(200.0, abs=0.2)


def test_source_is_loaded() -> None:
    # 600 ohm into 10 kohm: 20*log10(10/10.6) = -0.506 dB (computed)
    at = positions(oscillator=True, level_dbu=0.0)
    assert dbu(UNIT.outputs(at, at, 0)["input"]) == pytest.approx(-0.506, abs=0.001)


@given(level_dbu=st.floats(0, 20), threshold=st.floats(0.2, 0.9), lit=st.booleans())
def test_lamp_has_hysteresis(level_dbu: float, threshold: float, lit: bool) -> None:
    at = positions({"overload lamp": threshold}, lit=lit, oscillator=True, level_dbu=level_dbu)
    over_db = dbu(UNIT.outputs(at, at, 0)["input"]) - (8 + 10 * threshold)
    if abs(over_db) > 1e-6 and abs(over_db + 0.3) > 1e-6:
        assert UNIT.lit(at) == (over_db > (-0.3 if lit else 0.0))


def test_a_tone_comes_off_the_tape_a_head_distance_later() -> None:
    off = positions(transport=RECORD)
    on = positions(transport=RECORD, oscillator=True, level_dbu=4.0)
    assert UNIT.delay_s == pytest.approx(0.1, abs=0.001)  # 38 mm at 0.381 m/s (computed)
    assert dbu(UNIT.outputs(on, off, WARM_S)["output"]) < -55
    assert output_dbu(on) > 0


def test_stopped_machine_gives_only_hiss() -> None:
    assert output_dbu(positions(transport=STOP, oscillator=True, level_dbu=10.0)) < -55


def test_reproduce_level_drifts_while_the_machine_warms_up() -> None:
    at = positions(transport=PLAY, section=REFERENCE_LEVEL)
    assert 0.05 < output_dbu(at, WARM_S) - output_dbu(at, 0.0) < 0.2


@given(time_s=st.floats(0, 1e5), seed=st.integers(0, 1000))
def test_outputs_are_a_pure_function(time_s: float, seed: int) -> None:
    at = positions(transport=PLAY)
    first = TapeMachine(seed).outputs(at, at, time_s)
    assert first == TapeMachine(seed).outputs(at, at, time_s)
    assert all(math.isfinite(level) for level in first.values())


def test_wander_is_small_and_differs_by_seed() -> None:
    at = positions(transport=PLAY)
    levels = [output_dbu(at, WARM_S + second / 7) for second in range(700)]
    assert 0.01 < max(levels) - min(levels) < 0.09
    assert TapeMachine(1).outputs(at, at, WARM_S) != TapeMachine(2).outputs(at, at, WARM_S)


def test_machine_arrives_out_of_adjustment() -> None:
    play: dict[str, Any] = {"transport": PLAY, "section": REFERENCE_LEVEL}
    assert abs(output_dbu(positions(**play)) - 4) > 0.5
    start = UNIT.trimmers
    assert abs(panel_mv(start["meter zero"].start, start["meter scale"].start)) > 3.5
    bias = UNIT.trimmers["bias"].start
    curve = bias_curve(10_000)
    assert max(curve) - curve[round(bias * 200)] > 3.5
