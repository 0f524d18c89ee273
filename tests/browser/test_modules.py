"""The page's pure parts, run in the browser they are written for."""

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.helpers import OpenPage, module

Run = Callable[..., Any]


@pytest.fixture
def run(page: Page) -> Run:
    return lambda name, expression, argument=None: module(page, name, expression, argument)


def test_tempo_rises_by_equal_ratios_between_its_ends(run: Run) -> None:
    periods = run("tones.js", "[-1, 0, 0.25, 0.5, 0.75, 1, 2].map(m.tempoPeriod_s)")
    assert periods[0] == periods[1] == pytest.approx(0.9)
    assert periods[-1] == periods[-2] == pytest.approx(0.11)
    ratios = [later / earlier for earlier, later in pairwise(periods[1:6])]
    assert ratios == pytest.approx([ratios[0]] * 4)


def test_pitch_is_the_reference_on_the_target_and_a_quarter_of_an_octave_is_a_sixth_of_the_way(
    run: Run,
) -> None:
    on, above, below = run("tones.js", "[0, 1/6, -1/6].map(m.pitchHz)")
    assert math.log2(above / on) == pytest.approx(0.25)
    assert math.log2(below / on) == pytest.approx(-0.25)


def test_no_resting_tone_is_near_a_usual_test_frequency(run: Run) -> None:
    # 315 Hz and 3150 Hz: wow and flutter, IEC 60386:1972 (3150 Hz); 400 Hz, 1 kHz, 10 kHz: common practice.
    sounds = "['tempo', 'pitch', 'inside', 'press', 'alarm']"
    cues = f"{sounds}.flatMap(sound => m.trainOf({{sound, amount: 0}}).notes)"
    tones = run("tones.js", f"[...Object.values(m.ONCE).flat(), ...{cues}].map(note => note.hz)")
    assert len(tones) > 8
    for hz in tones:
        assert all(abs(hz / test - 1) > 0.03 for test in (315, 400, 1000, 3150, 10_000)), hz


def test_a_cue_the_page_does_not_know_is_silence(run: Run) -> None:
    assert run(
        "tones.js", "[m.trainOf({sound: 'silent', amount: 0}), m.trainOf({sound: '?', amount: 0})]"
    ) == [
        None,
        None,
    ]


GUIDES = [
    {"target": 4.0, "low": 3.75, "high": 4.25},
    {"target": None, "low": -0.001, "high": 0.001},
    {"target": 0.0, "low": None, "high": 0.05},
    {"target": None, "low": 1.2, "high": None},
    {"target": 1.0, "low": None, "high": None},
    {"target": 0.0, "low": None, "high": None},
    {"target": 2.0, "low": 2.0, "high": 2.0},
]


@pytest.mark.parametrize("guide", GUIDES)
def test_the_marker_moves_the_way_the_level_moves_and_never_leaves_the_scale(
    run: Run, guide: dict[str, float | None]
) -> None:
    values = sorted(
        [*(sign * 10**power for sign in (-1, 1) for power in range(-4, 4)), 0.0, 1.2, 3.75, 4.0, 4.25]
    )
    places = run(
        "scale.js", "a.values.map(value => m.positionOn(a.guide, value))", {"guide": guide, "values": values}
    )
    assert all(earlier < later for earlier, later in pairwise(places))
    assert places[0] >= 0
    assert places[-1] <= 1


def test_the_middle_of_the_window_is_the_middle_of_the_scale(run: Run) -> None:
    assert run("scale.js", "m.positionOn(a, 4)", GUIDES[0]) == pytest.approx(0.5)


def test_nothing_to_aim_at_is_no_scale(run: Run) -> None:
    assert run("scale.js", "m.positionOn({target: null, low: null, high: null}, 1)") is None


def test_a_silence_breaks_the_line(run: Run) -> None:
    points = [{"time_s": time_s, "value": 1.0} for time_s in (0, 1, 2, 20, 21)]
    assert run("chart.js", "m.pathOf(a, time => time, value => value)", points) == (
        "M0.0 1.0L1.0 1.0L2.0 1.0M20.0 1.0L21.0 1.0"
    )


def test_the_chart_holds_all_points_and_the_whole_window(run: Run) -> None:
    points = [{"value": value} for value in (1.0, None, 5.0)]
    extent = run("chart.js", "m.extentOf(a, {low: -2, high: 2, target: 0})", points)
    assert extent["bottom"] < -2
    assert extent["top"] > 5
    flat = run("chart.js", "m.extentOf([{value: 0}], {low: null, high: null, target: null})")
    assert flat["bottom"] < 0 < flat["top"]
    assert run("chart.js", "m.extentOf([], {low: null, high: null, target: null})") is None


@pytest.mark.parametrize(
    ("age_s", "text"),
    [(None, ""), (0.04, "0.0 s"), (9.94, "9.9 s"), (12.3, "12 s"), (89.4, "89 s"), (90, "2 min")],
)
def test_ages_are_short(run: Run, age_s: float | None, text: str) -> None:
    assert run("format.js", "m.ageText(a)", age_s) == text


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [("+4.00 dBu", "dBu", "+4.00"), ("+4.00", "dBu", "+4.00"), ("7", "", "7"), ("−3.2 mV", "mV", "−3.2")],
)
def test_the_unit_is_shown_once(run: Run, text: str, unit: str, number: str) -> None:
    assert run("format.js", "m.withoutUnit(a[0], a[1])", [text, unit]) == number


def test_a_key_means_one_thing(run: Run) -> None:
    bound = run("pedal_setup.js", 'm.bind({"go-on": "KeyB", redo: "", mute: "KeyM"}, "redo", "KeyB")')
    assert bound == {"go-on": "", "redo": "KeyB", "mute": "KeyM"}


def test_a_keyboard_without_codes_is_known_by_what_it_types(run: Run) -> None:
    assert run("pedal.js", 'm.nameOfKey({code: "Unidentified", key: "x"})') == "x"
    assert run("pedal.js", 'm.nameOfKey({code: "KeyB", key: "b"})') == "KeyB"


def test_the_page_works_without_storage(open_page: OpenPage) -> None:
    page = open_page(
        "Object.defineProperty(window, 'localStorage', { get() { throw new Error('refused'); } })"
    )
    assert module(page, "dom.js", "(m.memory.write('x', 1), m.memory.read('x', 'none'))") == "none"
