"""What `procedure fit` foretells of a computed value is what a session comes to where no reading scatters,
and what follows by hand from the law of propagation (JCGM 100:2008, 5.1.2 and 5.2.2).

Meters and figures are those of test_foretold.
"""

import math

import pytest

from meterlog.accuracy import Response
from meterlog.accuracy.appraisal import STATED
from meterlog.accuracy.fitness import Fit
from meterlog.procedure import ActionKind, Role, StepFit, fits_of, load_procedure_text, unfit_words
from tests.accuracy.asked import expanded
from tests.procedure.bench import HEAD, Bench
from tests.procedure.test_derived import derived, manual
from tests.procedure.test_foretold import COUNT, DIGIT, foretold, meters
from tests.procedure.test_match import AGAINST, AT_ONCE, IN_TURN

SHARE, COUNTS = 0.01, 4.0
OFFSET = COUNTS * DIGIT / 2.0  # per full scale
LEVEL = """
[[step]]
id = "{id}"
title = "Level"
pattern = "measure"
channel = "{channel}"
frequency = "{at}"
{target}
dwell = "0.8 s"
settle = "5 %"
"""
GAIN = derived("gain", of="loud", against="soft", target="6 dB", tolerance="0.5 dB")


def level(name: str, volts: float | None, channel: str = "output", at: str = "1 kHz") -> str:
    target = f'target = "{volts} V"\ntolerance = "5 %"' if volts is not None else ""
    return LEVEL.format(id=name, channel=channel, at=at, target=target)


def fit_of(steps: str, step: str, rule: str = "") -> StepFit:
    text = HEAD.replace('revision = "1"', f'revision = "1"\n{rule}') + steps
    found = fits_of(load_procedure_text(text, "p.toml"), meters(SHARE, COUNTS, Response.TRUE_RMS), {})
    return next(fit for fit in found if fit.step == step)


def session_of(steps: str, *levels: dict[str, float], entries: tuple[str, ...] = ()) -> float:
    """Expanded, of the value of the last step; each step at its levels, what is typed in first."""
    bench = Bench(steps, meters=meters(SHARE, COUNTS, Response.TRUE_RMS), noise=0.0)
    bench.fields = {"resolution": COUNT, "range_max": 2.0}
    for entry in entries:
        bench.now_s += 1
        bench.act(ActionKind.ENTER, entry)
    for at in levels:
        place = bench.engine.place
        while (
            bench.engine.place == place and bench.now_s < 300 and not bench.engine.view().guide.awaiting_go_on
        ):
            bench.run(0.2, **at)
        if bench.engine.view().guide.awaiting_go_on:
            bench.press()
            bench.run(5.0, **at)
    bench.run(5.0, **(levels[-1] if levels else {}))
    computed = [one for one in bench.settled if one.role is Role.DERIVED]
    return next(one.expanded_uncertainty for one in computed if one.step == computed[-1].step)


CASES = {
    "two levels of one meter": (
        level("soft", 0.5) + level("loud", 1.0) + GAIN,
        "result",
        ({"output": 0.5}, {"output": 1.0}),
    ),
    "of two meters": (
        level("soft", 0.5, "panel") + level("loud", 1.0) + GAIN,
        "result",
        ({"panel": 0.5}, {"output": 1.0}),
    ),
    "at two frequencies": (
        level("soft", 0.5) + level("loud", 1.0, at="10 kHz") + GAIN,
        "result",
        ({"output": 0.5}, {"output": 1.0}),
    ),
    "of a result": (
        level("soft", 0.5)
        + level("loud", 0.6)
        + derived("difference", of="loud", against="soft", show="V").replace('"result"', '"between"')
        + derived("percent", of="between", against="loud", target="16.7 %", tolerance="1 %"),
        "result",
        ({"output": 0.5}, {"output": 0.6}),
    ),
    "of a level that only the result states": (
        level("drop", None)
        + derived(
            "current",
            of="drop",
            resistor="10 ohm",
            resistor_tolerance="1 %",
            target="50 mA",
            tolerance="5 mA",
        ),
        "result",
        ({"output": 0.5},),
    ),
    "of a channel as it is now": (
        level("soft", 0.5)
        + derived(
            "gain",
            channel="output",
            frequency="1 kHz",
            settle="5 %",
            against="soft",
            target="6 dB",
            tolerance="1 dB",
        ),
        "result",
        ({"output": 0.5}, {"output": 0.9976}),
    ),
    "sides of two meters that match": (
        level("left", 0.5) + AT_ONCE,
        "balance",
        ({"output": 0.5}, {"output": 0.5, "panel": 0.5}),
    ),
    "sides of one meter that match in turn": (
        level("left", 0.5) + IN_TURN.replace('trim = "R22"', 'trim = "R22"\nfrequency = "1 kHz"'),
        "balance",
        ({"output": 0.5}, {"output": 0.5}, {"output": 0.5}),
    ),
}


@pytest.mark.parametrize(("steps", "step", "levels"), CASES.values(), ids=CASES)
def test_as_sure_as_foretold(steps: str, step: str, levels: tuple[dict[str, float], ...]) -> None:
    """A display so fine that its count is nothing, and readings that stand still; 0.2 % for the thousand
    degrees of freedom that a session has, and for the level typed to four digits."""
    found = fit_of(steps, step)
    assert found.fitness.uncertainty == pytest.approx(session_of(steps, *levels), rel=2e-3)
    assert found.fitness.ratio is not None


def test_a_gain_of_one_meter_by_hand() -> None:
    """The error of gain falls out of 1 V over 0.5 V; each offset of 4 half digits of 2 V does not."""
    found = fit_of(level("soft", 0.5) + level("loud", 1.0) + GAIN, "result")
    offset = 2.0 * OFFSET
    by_hand = expanded(offset / 0.5, 2.0 * offset / 0.5, counts=())
    assert found.fitness.uncertainty == pytest.approx(by_hand, rel=1e-3)
    assert (found.channel, found.meter, str(found.level)) == ("output", "of output", "+6 dB")
    width = 10 ** (6.5 / 20) - 10 ** (5.5 / 20)
    assert found.fitness.ratio == pytest.approx(width / (2.0 * by_hand), rel=1e-3)


def test_what_is_typed_in_counts_by_its_bounds() -> None:
    """0.1 V of bounds either way about a mark of 10 V, read against nothing: a rectangle, k 1.65."""
    steps = manual("mark", "V", "0.1 V") + derived(
        "difference", of="mark", nominal="10 V", show="V", target="0 V", tolerance="0.4 V"
    )
    found = fit_of(steps, "result")
    assert found.fitness.uncertainty == pytest.approx(expanded(0.1, counts=()))
    assert found.fitness.uncertainty == pytest.approx(session_of(steps, entries=("10 V",)), rel=1e-3)
    assert (found.channel, found.meter) == ("", "")


def test_words_name_the_largest_source_and_what_would_help() -> None:
    found = fit_of(
        level("drop", 0.5)
        + derived(
            "current",
            of="drop",
            resistor="10 ohm",
            resistor_tolerance="10 %",
            target="50 mA",
            tolerance="8 mA",
        ),
        "result",
    )
    assert found.fitness.fit is Fit.MARGINAL
    assert found.fitness.mostly == STATED
    assert unfit_words(found) == (
        "its own uncertainty is large in the window (mostly bounds that the procedure states): ± 4.8 mA, "
        "where ± 2 mA would be a quarter of it; state closer bounds"
    )


def test_a_match_is_told_in_its_own_decibels() -> None:
    found = fit_of(level("left", 0.5) + AT_ONCE, "balance")
    assert found.fitness.uncertainty is not None
    has = 20.0 * math.log10(1.0 + found.fitness.uncertainty)
    assert f"± {has:.2g} dB, where ± 0.05 dB would be" in unfit_words(found)
    assert unfit_words(found).endswith("take a meter that good there")
    assert found.supposed == "supposed at 0.5 V, where 'left' has its channel"


def test_where_the_file_does_not_tell_that_is_said() -> None:
    """Nothing says at which level: no target of the steps, none before the match."""
    for steps, step in (
        (level("soft", None) + level("loud", None) + GAIN, "result"),
        (AGAINST, "balance"),
        (AT_ONCE, "balance"),
    ):
        found = fit_of(steps, step)
        assert found.fitness.fit is Fit.UNKNOWN
        assert found.fitness.why == "how sure it is hangs on what is measured before"


def test_a_result_without_a_window_is_not_asked_about() -> None:
    steps = level("soft", 0.5) + level("loud", 1.0) + derived("gain", of="loud", against="soft")
    assert [fit.step for fit in foretold(steps, meters(SHARE, COUNTS, Response.TRUE_RMS))] == ["soft", "loud"]


def test_rows_stand_in_the_order_of_the_file() -> None:
    steps = level("soft", 0.5) + level("loud", 1.0) + GAIN + level("last", 1.0)
    found = foretold(steps, meters(SHARE, COUNTS, Response.TRUE_RMS))
    assert [fit.step for fit in found] == ["soft", "loud", "result", "last"]


UNDESCRIBED = level("soft", 0.5, "panel") + level("loud", 1.0) + GAIN


@pytest.mark.parametrize(("rule", "fit"), [("", Fit.UNKNOWN), ('decision = "guard band"', Fit.NOT_ADEQUATE)])
def test_a_meter_that_nobody_described_leaves_a_result_unknown(rule: str, fit: Fit) -> None:
    text = HEAD.replace('revision = "1"', f'revision = "1"\n{rule}') + UNDESCRIBED
    known = {"output": meters(SHARE, COUNTS, Response.TRUE_RMS)["output"]}
    found = fits_of(load_procedure_text(text, "p.toml"), known, {})
    (row,) = (one for one in found if one.step == "result")
    assert row.fitness.fit is fit
    assert "nobody has said how accurate the meter of 'panel' is there" in row.fitness.why


def test_of_meters_that_nobody_described_nothing_is_said_unless_the_rule_asks() -> None:
    made = load_procedure_text(HEAD + UNDESCRIBED, "p.toml")
    assert fits_of(made, {}, {}) == []
