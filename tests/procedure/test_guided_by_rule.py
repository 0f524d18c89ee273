"""The hand under a guard band: led to where a value passes, not to the limits.

The meter is the invented one of test_how_sure: U is 10.1 mV at 1 V (k = 1.71, for its 1 % outweighs the
rest). Guard bands are those of ILAC-G8:09/2019.
"""

import math
from contextlib import suppress

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import (
    ActionKind,
    Engine,
    IllegalAction,
    Pass,
    Role,
    SettledValue,
    StepEnded,
    load_procedure_text,
)
from meterlog.procedure.view import Direction, Sound
from tests.procedure.bench import HEAD, Bench, hump, ramp
from tests.procedure.test_how_sure import LAMP, METERS, SIDES
from tests.procedure.test_patterns import BACK_OFF, EXTREMUM, adjust_end, bias_curve, edges, skip_to

ADJUST = """
[[step]]
id = "level"
title = "Level"
pattern = "adjust"
channel = "output"
target = "1 V"
tolerance = "5 %"
dwell = "0.8 s"
"""
GUARD = 'decision = "guard band"'
FOUR = 'decision = "four answers"'


def turning(
    steps: str = ADJUST, rule: str = GUARD, step: str = "level", *, described: bool = True, **more: object
) -> Bench:
    """In the adjust pass of a step; `more` as of `Bench`."""
    bench = Bench(steps, meters=METERS if described else None, rule=rule, **({"noise": 2e-5} | more))  # type: ignore[arg-type]
    skip_to(bench, step)
    return bench


def adjusted(bench: Bench) -> list[SettledValue]:
    return [value for value in bench.settled if value.pass_ is Pass.ADJUST]


def test_a_level_in_the_guard_band_is_not_let_go() -> None:
    """1.045 V lies inside 0.95 to 1.05 V, but by less than U: the hand is told to go on, and how far."""
    bench = turning()
    bench.run(8, output=1.045)
    assert bench.settled == []
    guide = bench.engine.view().guide
    assert (guide.direction, guide.cue.sound) == (Direction.DOWN, Sound.PITCH)
    assert guide.do_now == "Inside the limits, but not by as much as it is uncertain: a little down."
    assert (guide.low, guide.high) == (0.95, 1.05)
    assert guide.accept_low == pytest.approx(0.9601, abs=2e-4)
    assert guide.accept_high == pytest.approx(1.0399, abs=2e-4)
    bench.run(5, output=1.0)
    (taken,) = adjusted(bench)
    assert (taken.value, taken.verdict) == (pytest.approx(1.0, abs=1e-3), Verdict.PASS)
    assert adjust_end(bench, "level").verdict is Verdict.PASS


def test_by_the_limits_alone_it_is() -> None:
    bench = turning(rule="")
    bench.run(8, output=1.045)
    (taken,) = adjusted(bench)
    assert (taken.role, taken.verdict) == (Role.ADJUSTED, Verdict.PASS)


def test_what_was_recorded_before_is_replayed_as_it_was_judged() -> None:
    """A session that began without the word: let go at 1.045 V, which then failed."""
    bench = turning(start="")
    bench.run(8, output=1.045)
    (taken,) = adjusted(bench)
    assert (taken.role, taken.verdict) == (Role.ADJUSTED, Verdict.FAIL)
    assert adjust_end(bench, "level").verdict is Verdict.FAIL


def test_the_hand_is_told_to_let_go_half_way_to_what_passes() -> None:
    """Half-way to 1.040 V is 1.020 V; half-way to the limit would be 1.025 V."""
    sounds = []
    for level in (1.018, 1.022):
        bench = turning()
        bench.run(0.6, output=level)
        sounds.append(bench.engine.view().guide.cue.sound)
    assert sounds == [Sound.INSIDE, Sound.PITCH]


@pytest.mark.parametrize(("rule", "word"), [(GUARD, Verdict.FAIL), (FOUR, Verdict.CONDITIONAL_PASS)])
def test_a_trimmer_that_goes_no_further_is_judged_as_it_stands(rule: str, word: Verdict) -> None:
    bench = turning(rule=rule)
    bench.run(6, output=1.045)
    with pytest.raises(IllegalAction):
        bench.press()
    bench.run(18, output=1.045)
    assert bench.engine.view().guide.awaiting_go_on
    bench.press()
    (taken,) = adjusted(bench)
    assert taken.verdict is word
    end = adjust_end(bench, "level")
    assert (end.verdict, end.reason[:18]) == (word, "goes no further: +")


def test_a_window_that_the_guard_band_eats_up_is_called_so() -> None:
    """0.9 % is 9 mV, U is 9.7 mV: whatever it is set to fails, and the hand hears it while it works."""
    bench = turning(ADJUST.replace("5 %", "0.9 %"))
    bench.run(1, output=1.05)
    guide = bench.engine.view().guide
    assert guide.nothing_left
    assert "the guard band leaves nothing that would pass" in guide.do_now
    assert (guide.accept_low, guide.accept_high) == (None, None)
    bench.run(6, output=1.0)
    (taken,) = adjusted(bench)
    assert taken.verdict is Verdict.FAIL


def test_readings_that_scatter_narrow_it_further() -> None:
    """At 1.033 V the meter alone would pass; with what the readings scatter it is too unsure there."""
    bench = turning(noise=0.008, seed=2)
    bench.run(14, output=1.033)
    before = bench.engine.view().guide
    assert bench.settled == []
    assert before.accept_high is not None
    assert before.accept_high < 1.033
    bench.run(15, output=1.0)
    (taken,) = adjusted(bench)
    assert taken.verdict is Verdict.PASS


def test_readings_that_scatter_far_too_much_are_told_and_the_pedal_ends_it() -> None:
    """Readings of 20 mV scatter each: U is more than half the window, though the meter's is not."""
    bench = turning(noise=0.02, seed=20)
    bench.run(8, output=1.02)
    assert "too unsteady to tell whether it passes" in bench.engine.view().guide.do_now
    while not adjusted(bench):
        bench.run(0.2, output=1.0)
        with suppress(IllegalAction):  # while it is not settled
            bench.press()
    assert adjusted(bench)[0].verdict is Verdict.FAIL


def test_nobody_is_led_beyond_the_limits() -> None:
    """-1 U passes what lies outside by less than U; a hand still brings it inside."""
    bench = turning(rule=f'{GUARD}\nguard_band = "-1 U"')
    bench.run(8, output=1.055)
    assert bench.settled == []
    assert bench.engine.view().guide.accept_high is None
    looked = Bench(ADJUST, meters=METERS, rule=f'{GUARD}\nguard_band = "-1 U"', noise=2e-5)
    looked.run_to(1, output=1.055)
    assert [value.verdict for value in looked.settled] == [Verdict.PASS]


def test_of_a_meter_that_nobody_described_the_limits_are_all_there_is() -> None:
    bench = turning(described=False)
    bench.run(8, output=1.045)
    (taken,) = adjusted(bench)
    assert taken.verdict is Verdict.NOT_JUDGED


@pytest.mark.parametrize(("level", "roles"), [(1.045, [Role.ADJUSTED]), (1.03, [Role.MEASURED])])
def test_only_if_needed_is_by_the_rule(level: float, roles: list[Role]) -> None:
    bench = turning(ADJUST + "only_if_needed = true\n")
    bench.run(3, output=level)
    bench.run(6, output=1.0 if level > 1.04 else level)
    assert [value.role for value in adjusted(bench)] == roles
    assert [value.verdict for value in adjusted(bench)] == [Verdict.PASS]


PAIR = """
[[step]]
id = "pair"
title = "Pair"
pattern = "alternate"
""" + "".join(
    f"""
[[step.condition]]
name = "{name}"
setup = "Switch to {name}."
channel = "output"
target = "1 V"
tolerance = "50 mV"
dwell = "0.6 s"
hold = "0.4 s"
"""
    for name in ("low", "high")
)


def test_conditions_hold_only_where_they_pass() -> None:
    """Both at 1.045 V hold by the limits; by the rule both are set, and hold in the round after."""
    bench = turning(PAIR, step="pair")
    levels = {"low": 1.045, "high": 1.045}
    for _ in range(12):
        if bench.engine.plan[bench.engine.place].pass_ is not Pass.ADJUST:
            break
        name = "low" if "low" in bench.engine.view().guide.do_now else "high"
        bench.press()
        bench.run(3, output=levels[name])
        if bench.engine.view().guide.phase == "trim":
            assert bench.engine.view().guide.accept_high == pytest.approx(1.0399, abs=2e-4)
            levels[name] = 1.0
            bench.run(4, output=1.0)
    end = adjust_end(bench, "pair")
    assert (end.verdict, end.reason[:31]) == (Verdict.PASS, "all held untouched in round 2")
    assert levels == {"low": 1.0, "high": 1.0}


def test_sides_are_trimmed_until_their_difference_passes() -> None:
    """On one range the gain falls out: U of the difference is 3.3 mV (k = 2) of 11.6 mV (0.1 dB)."""
    bench = turning(SIDES, step="balance")
    bench.press()
    bench.run(4, output=1.0)
    bench.press()
    bench.run(6, output=1.010)
    assert [value.condition for value in bench.settled] == ["left"]
    guide = bench.engine.view().guide
    assert guide.high == pytest.approx(1.0116, abs=2e-4)
    assert guide.accept_high == pytest.approx(1.0116 - 0.0033, abs=3e-4)
    bench.run(5, output=1.001)
    assert [value.verdict for value in adjusted(bench)[1:]] == [Verdict.PASS] * 2


def test_an_extremum_is_come_back_to_as_near_as_passes() -> None:
    """0.3 dB is 34 mV below the peak at 1 V; two readings on one range leave 3.7 mV unsure (k = 1.9)."""
    bench = turning(EXTREMUM, step="azimuth")
    bench.run(6, output=hump(1.0, 6.0, 6.0))
    bench.run(7, output=hump(1.0, 6.0, 0.0))
    bench.run(1, output=ramp(0.3, 0.967, 0.5))
    bench.run(5, output=0.9675)
    assert bench.settled == []
    guide = bench.engine.view().guide
    assert guide.low is not None
    assert guide.accept_low is not None
    assert guide.accept_low - guide.low == pytest.approx(0.0037, abs=2e-4)
    bench.run(5, output=0.99)
    assert [value.verdict for value in adjusted(bench)] == [Verdict.NOT_JUDGED, Verdict.PASS]


def test_a_back_off_stops_where_it_passes() -> None:
    bench = turning(BACK_OFF, step="bias")
    bench.run(8, output=lambda t: bias_curve(min(0.16 * t, 1.28)))
    limits = bench.engine.view().guide
    if limits.accept_high is None:
        bench.run(3, output=lambda t: bias_curve(1.28 + 0.05 * t))
        limits = bench.engine.view().guide
    assert limits.accept_high is not None
    assert limits.high is not None
    assert 0.002 < limits.high - limits.accept_high < 0.005


def test_an_indicator_is_trimmed_until_both_edges_pass() -> None:
    """0.5 dB about 1 V ends at 1.059 V: on at 1.055 V is inside, by less than U."""
    bench = turning(LAMP, step="lamp")
    edges(bench, 1.055, 1.045)
    assert [value.role for value in bench.settled] == [Role.LIT, Role.UNLIT]
    assert bench.engine.view().guide.do_now.startswith("It came on too late.")
    bench.press()
    edges(bench, 1.0, 0.99)
    assert adjust_end(bench, "lamp").verdict is Verdict.PASS


MANUAL = """
[[step]]
id = "pointer"
title = "Pointer"
pattern = "manual"
show = "V"
uncertainty = "0.02 V"
target = "1 V"
tolerance = "0.05 V"
trim = "the meter trimmer"
"""


def test_a_reading_typed_in_is_asked_for_again_until_it_passes() -> None:
    """Bounds of 0.02 V hold 95.45 % within 0.9545 of them, U = 19 mV: what passes ends at 1.031 V."""
    bench = turning(MANUAL, step="pointer")
    bench.act(ActionKind.ENTER, "1.04")
    guide = bench.engine.view().guide
    assert guide.accept_high == pytest.approx(1.05 - 0.9545 * 0.02, abs=1e-5)
    assert guide.do_now.startswith("Bring it down with the meter trimmer.")
    bench.act(ActionKind.ENTER, "1.03")
    assert adjust_end(bench, "pointer").verdict is Verdict.PASS


TABLE = """
[[step]]
id = "curve"
title = "Curve"
pattern = "table"
channel = "output"
tolerance = "5 %"
dwell = "0.8 s"
[[step.row]]
at = "100 Hz"
expected = "1 V"
[[step.row]]
at = "1 kHz"
expected = "1 V"
"""


def test_a_table_with_a_row_in_the_guard_band_waits_for_a_second_look() -> None:
    bench = Bench(TABLE, meters=METERS, rule=GUARD, noise=2e-5)
    for level in (1.045, 1.0):
        bench.press()
        bench.run(4, output=level)
    guide = bench.engine.view().guide
    assert guide.do_now == "inside by less than the guard band: 100 Hz. Redo a row, or press to go on."
    bench.press()
    (end,) = (one for one in bench.outcomes if isinstance(one, StepEnded))
    assert end.verdict is Verdict.FAIL


@pytest.mark.parametrize(
    ("steps", "step", "levels"),
    [
        (ADJUST, "level", (1.045, 1.037, 1.02)),
        (ADJUST + "only_if_needed = true\n", "level", (1.045, 1.045, 1.0)),
        (SIDES, "balance", (1.0, 1.0105, 1.002)),
    ],
)
def test_the_same_events_give_the_same_to_the_last_bit(
    steps: str, step: str, levels: tuple[float, ...]
) -> None:
    bench = turning(steps, step=step, noise=2e-3)
    for level in levels:
        if bench.engine.view().guide.awaiting_go_on:
            bench.press()
        bench.run(6, output=level)
    text = HEAD.replace('revision = "1"', f'revision = "1"\n{GUARD}') + steps
    again = Engine(load_procedure_text(text, "test.toml"), METERS)
    assert [one for event in bench.events for one in again.apply(event)] == bench.outcomes
    assert bench.settled
    assert all(math.isfinite(value.expanded_uncertainty) for value in bench.settled)
