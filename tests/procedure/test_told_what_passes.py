"""What passes under a guard band is told in steps too that turn nothing: computed, watched, looked at.

The meter is the invented one of test_how_sure: U is 10.1 mV at 1 V (k = 1.71, for its 1 % outweighs the
rest). Guard bands of U as in ILAC-G8:09/2019.
"""

import pytest

from meterlog.accuracy import Verdict
from meterlog.daemon.messages import view_json
from meterlog.daemon.scales import Scales
from meterlog.procedure import ActionKind, Guide, load_procedure_text
from meterlog.quantity import Unit
from tests.procedure.bench import HEAD, Bench
from tests.procedure.test_derived import ONE_OHM, derived, manual
from tests.procedure.test_guided_by_rule import GUARD
from tests.procedure.test_how_sure import METERS, WATCH
from tests.procedure.test_patterns import EXTREMUM, skip_to

CURRENT = manual("drop", "mV", "1 %") + derived("current", **ONE_OHM, target="50 mA", tolerance="5 %")
NOW = derived(
    "current", channel="output", resistor="10 ohm", resistor_tolerance="0.1 %", settle="5 mV",
    target="100 mA", tolerance="5 %",
)  # fmt: skip
STATED, NEAR = 'target = "1 V"\ntolerance = "5 %"', 'within = "1 %"'


def guide(bench: Bench) -> Guide:
    return bench.engine.view().guide


def guarded(steps: str, rule: str = GUARD, **more: str) -> Bench:
    return Bench(steps, meters=METERS, rule=rule, noise=2e-5, **more)


def entered(text: str, **more: str) -> Bench:
    """The current computed of a drop that has just been typed in; no time has passed since."""
    bench = guarded(CURRENT, **more)
    bench.now_s = 1.0
    bench.act(ActionKind.ENTER, text)
    return bench


@pytest.mark.parametrize(("drop", "verdict"), [("50 mV", Verdict.PASS), ("52.2 mV", Verdict.FAIL)])
def test_a_value_computed_of_others_says_what_passes(drop: str, verdict: Verdict) -> None:
    """Two rectangles of 1 % make U 1.58 % (as in test_derived), 0.8 mA: what passes ends at 51.7 mA."""
    bench = entered(drop)
    told = guide(bench)
    bench.run(0.2)
    (value,) = bench.settled[-1:]
    assert (told.low, told.high) == (pytest.approx(0.0475), pytest.approx(0.0525))
    assert told.accept_low == pytest.approx(0.0475 + value.expanded_uncertainty)
    assert told.accept_high == pytest.approx(0.0525 - value.expanded_uncertainty)
    assert told.present == pytest.approx(value.value)
    assert value.expanded_uncertainty == pytest.approx(0.01576 * value.value, rel=0.01)
    assert value.verdict is verdict


def test_one_computed_of_a_channel_says_it_while_the_channel_settles() -> None:
    bench = guarded(NOW)
    bench.run(0.6, output=1.0)
    told = guide(bench)
    assert (told.channel, told.computed) == ("output", True)
    assert told.present == pytest.approx(0.1, abs=1e-4)
    bench.run_to(1, output=1.0)
    value = bench.settled[-1]
    assert told.accept_low == pytest.approx(0.095 + value.expanded_uncertainty, abs=2e-5)
    assert told.accept_high == pytest.approx(0.105 - value.expanded_uncertainty, abs=2e-5)
    assert value.verdict is Verdict.PASS


def test_it_is_foreseen_anew_where_the_level_goes() -> None:
    """Two counts in 1 V are less of it than in 0.2 V, but its 1 % is more: U grows from about 3 to 10 mV."""
    bench = guarded(NOW)
    bench.run(0.6, output=0.2)
    before = guide(bench).accept_high
    bench.run(0.8, output=1.0)
    after = guide(bench).accept_high
    assert before is not None
    assert after is not None
    assert after < before - 0.5e-3


def test_its_texts_are_in_the_unit_of_the_result() -> None:
    bench = guarded(NOW)
    bench.run(0.6, output=1.02)
    scales = Scales({}, load_procedure_text(HEAD + NOW, "test.toml"))
    told = view_json(bench.engine.view(), Unit.VOLT, scales, 1e-3)["guide"]
    texts = {name: told[f"{name}_text"] for name in ("present", "low", "target", "high")}
    assert texts == {"present": "102.0 mA", "low": "95.0 mA", "target": "100.0 mA", "high": "105.0 mA"}
    assert told["accept_low_text"].endswith(" mA")
    assert told["distance_text"] == "+2.0 %"


@pytest.mark.parametrize(("window", "half"), [(STATED, 0.05), (NEAR, 0.01)])
def test_a_level_that_is_watched_says_what_passes(window: str, half: float) -> None:
    """About its start it is surer: the error of gain is the same in both."""
    bench = guarded(WATCH + window)
    bench.press()
    bench.run(5, output=1.0)
    told = guide(bench)
    bench.run(55, output=1.0)
    end = bench.settled[-1]
    assert told.low == pytest.approx(1.0 - half, abs=2e-4)
    assert told.accept_low == pytest.approx(1.0 - half + end.expanded_uncertainty, abs=4e-4)
    assert told.accept_high == pytest.approx(1.0 + half - end.expanded_uncertainty, abs=4e-4)
    assert end.verdict is Verdict.PASS


def test_where_its_window_is_stated_it_says_so_before_it_is_still() -> None:
    bench = guarded(WATCH + STATED)
    bench.press()
    bench.run(0.4, output=1.0)
    assert bench.settled == []
    assert guide(bench).accept_high == pytest.approx(1.0399, abs=2e-4)


def test_a_watched_window_that_the_guard_band_eats_up_is_called_so() -> None:
    """0.2 % is 2 mV: of two readings on one range two times two counts are left."""
    bench = guarded(WATCH + 'within = "0.2 %"')
    bench.press()
    bench.run(5, output=1.0)
    assert guide(bench).nothing_left
    assert "the guard band leaves nothing that would pass" in guide(bench).do_now


@pytest.mark.parametrize("more", [{"rule": ""}, {"start": ""}])
def test_by_the_limits_alone_nothing_else_is_told(more: dict[str, str]) -> None:
    """`start`: of a session recorded before the hand was led by the rule."""
    told = [guide(entered("50 mV", **more))]
    for steps in (NOW, WATCH + STATED):
        bench = guarded(steps, **more)
        if "stability" in steps:
            bench.press()
        bench.run(5 if "stability" in steps else 0.6, output=1.0)
        told.append(guide(bench))
    assert [(one.accept_low, one.accept_high) for one in told] == [(None, None)] * 3
    assert all(one.high is not None for one in told)


def test_an_extremum_that_is_only_looked_at_has_no_limits_and_says_so() -> None:
    """Where they would lie is known once it was gone over (decision 6 in DEVELOPERS.md)."""
    bench = guarded(EXTREMUM)
    bench.run(0.6, output=1.0)
    told = guide(bench)
    assert told.do_now == "Hands off: measuring. It is recorded, not judged."
    assert (told.low, told.high, told.accept_low, told.accept_high) == (None,) * 4
    bench.run_to(1, output=1.0)
    assert [value.verdict for value in bench.settled] == [Verdict.NOT_JUDGED]
    turning = guarded(EXTREMUM)
    skip_to(turning, "azimuth")
    turning.run(0.6, output=1.0)
    assert "judged" not in guide(turning).do_now
