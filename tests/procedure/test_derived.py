"""Values computed from other values, against worked numbers, and their propagated uncertainty."""

import math

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, Engine, IllegalAction, Pass, Role, load_procedure_text
from meterlog.quantity import GAIN, Unit, show
from meterlog.report.shown import shown as shown_in_report
from tests.procedure.bench import HEAD, Bench


def manual(step: str, unit: str, bounds: str) -> str:
    return f"""
[[step]]
id = "{step}"
title = "{step}"
pattern = "manual"
show = "{unit}"
uncertainty = "{bounds}"
"""


def derived(kind: str, **fields: str) -> str:
    lines = "".join(f'{name} = "{text}"\n' for name, text in fields.items())
    return f'\n[[step]]\nid = "result"\ntitle = "Result"\npattern = "derived"\nkind = "{kind}"\n{lines}'


ONE_OHM = {"of": "drop", "resistor": "1 ohm", "resistor_tolerance": "1 %"}


def result_of(steps: str, *entries: str) -> Bench:
    """The bench after these readings were typed in, and time has passed."""
    bench = Bench(steps)
    for entry in entries:
        bench.now_s += 1
        bench.act(ActionKind.ENTER, entry)
    bench.run(0.2)
    return bench


def shown(bench: Bench) -> str:
    value = bench.settled[-1]
    assert (value.role, value.channel) == (Role.DERIVED, "")
    scale = next(p.step.own_scale for p in bench.engine.plan if p.step.id == "result")
    assert scale is not None
    assert value.unit is scale.unit
    return show(value.value, scale)


# Ohm's law and the power law; 1 mV on 1 ohm is 1 mA and 2.83 V on 8 ohm about 1 W are how the trade uses them
# (common practice). 2 mV at 1 V/octave are 2.4 cents: 1200 cents to the octave. dB: IEC 60027-3.
WORKED = [
    (derived("current", **ONE_OHM), [("drop", "V", "0.1 mV", "35 mV")], "35.00 mA"),
    (
        derived("power", of="out", resistor="8 ohm", resistor_tolerance="1 %"),
        [("out", "V", "1 mV", "2.8284 V")],
        "1.000 W",
    ),
    (
        derived("power", of="plate", against="idle"),
        [("plate", "V", "1 V", "400 V"), ("idle", "A", "1 mA", "0.03 A")],
        "12.00 W",
    ),
    (
        derived("current", of="drop", against="cathode"),
        [("drop", "V", "1 mV", "0.5 V"), ("cathode", "ohm", "0.1 ohm", "10 ohm")],
        "50.00 mA",
    ),
    (
        derived("cents", of="upper", nominal="2 V", volts_per_octave="1 V"),
        [("upper", "V", "0.1 mV", "2.002")],
        "2.400 cent",
    ),
    (derived("cents", of="upper", nominal="440 Hz"), [("upper", "Hz", "0.01 Hz", "880")], "1200 cent"),
    (
        derived("deviation", of="clock", nominal="10 MHz", show="ppb"),
        [("clock", "MHz", "0.1 Hz", "10.000001")],
        "100.0 ppb",
    ),
    (
        derived("deviation", of="clock", nominal="10 MHz", show="ppm"),
        [("clock", "MHz", "0.1 Hz", "9.99999")],
        "-1.000 ppm",
    ),
    (derived("deviation", of="out", nominal="2 V"), [("out", "V", "1 mV", "1.9")], "-5.000 %"),
    (
        derived("percent", of="out", against="in"),
        [("out", "V", "1 mV", "1.5"), ("in", "V", "1 mV", "2")],
        "75.00 %",
    ),
    (
        derived("gain", of="out", against="in"),
        [("out", "V", "1 mV", "-1"), ("in", "V", "1 mV", "0.1")],
        "+20.00 dB",
    ),
    (
        derived("gain-reduction", of="on", against="off"),
        [("on", "dBu", "0.1 dB", "-3"), ("off", "dBu", "0.1 dB", "+4")],
        "+7.00 dB",
    ),
    (
        derived("difference", of="out", against="in", show="mV"),
        [("out", "V", "1 mV", "0.015"), ("in", "V", "1 mV", "0.02")],
        "-5.000 mV",
    ),
]


@pytest.mark.parametrize(("step", "readings", "text"), WORKED, ids=[text for _, _, text in WORKED])
def test_worked_numbers(step: str, readings: list[tuple[str, str, str, str]], text: str) -> None:
    steps = "".join(manual(name, unit, bounds) for name, unit, bounds, _ in readings)
    assert shown(result_of(steps + step, *(entry for *_, entry in readings))) == text


def test_uncertainties_are_propagated_with_the_resistor_s_own() -> None:
    """JCGM 100:2008, 5.1.2 for a quotient: the relative standard uncertainties add by squares (as in 5.1.6).
    Bounds of 1 % each are 1 % / root 3 each (4.3.7): together 1 % x root(2 / 3). Two equal rectangles make a
    triangle, of whose half-width 1 - root(1 - 0.9545) hold 95.45 %: 1.93 standard deviations."""
    bench = result_of(manual("drop", "mV", "1 %") + derived("current", **ONE_OHM), "50 mV")
    value = bench.settled[-1]
    assert value.value == pytest.approx(0.05)
    assert value.standard_uncertainty == pytest.approx(0.05 * 0.01 * math.sqrt(2 / 3))
    assert value.coverage_factor == pytest.approx((1 - math.sqrt(1 - 0.9545)) * math.sqrt(6), abs=5e-4)


@pytest.mark.parametrize(("kind", "first"), [("gain", "signal"), ("gain-reduction", "noise")])
def test_over_a_value_that_is_not_sure_it_reaches_further_up(kind: str, first: str) -> None:
    """1 V over a noise of (1 +- 0.4) mV as bounds: 95.45 % of the bounds are 0.3818 mV, so the noise lies in
    0.6182 to 1.3818 mV and the ratio in 1 V over these: +60.00 dB +4.2 -2.8, by hand."""
    readings = manual("signal", "V", "1 nV") + manual("noise", "mV", "0.4 mV")
    second = "noise" if first == "signal" else "signal"
    bench = result_of(readings + derived(kind, of=first, against=second), "1 V", "1 mV")
    value = bench.settled[-1]
    assert value.value == pytest.approx(1000.0)
    assert (value.lower, value.upper) == pytest.approx((1.0 / 1.3818e-3, 1.0 / 0.6182e-3), rel=1e-3)
    texts = shown_in_report(value, GAIN)
    assert (texts.value, texts.uncertainty) == ("+60.0", "+4.2 -2.9")


def test_what_is_no_ratio_reaches_as_far_to_either_side() -> None:
    readings = [("out", "V", "1 mV", "0.015"), ("in", "V", "1 mV", "0.02")]
    steps = "".join(manual(name, unit, bounds) for name, unit, bounds, _ in readings)
    bench = result_of(steps + derived("difference", of="out", against="in", show="mV"), "0.015", "0.02")
    assert (bench.settled[-1].lower, bench.settled[-1].upper) == (None, None)


@pytest.mark.parametrize(
    ("target", "tolerance", "entry", "verdict"),
    [
        ("35 mA", "5 mA", "38 mV", Verdict.PASS),
        ("35 mA", "5 mA", "41 mV", Verdict.FAIL),
    ],
)
def test_it_is_judged(target: str, tolerance: str, entry: str, verdict: Verdict) -> None:
    step = derived("current", **ONE_OHM, target=target, tolerance=tolerance)
    bench = result_of(manual("drop", "mV", "0.1 mV") + step, entry)
    assert bench.settled[-1].verdict is verdict
    assert bench.settled[-1].low == pytest.approx(0.03)


def test_a_deviation_is_judged_about_nothing_in_hundredths() -> None:
    step = derived("deviation", of="out", nominal="2 V", target="0 %", tolerance="2 %")
    bench = result_of(manual("out", "V", "1 mV") + step, "2.05 V")
    value = bench.settled[-1]
    assert (value.low, value.high, value.verdict) == (-0.02, 0.02, Verdict.FAIL)


def test_a_gain_has_a_target_in_db() -> None:
    step = derived("gain", of="out", nominal="1 V", target="6 dB", tolerance="0.5 dB")
    assert result_of(manual("out", "V", "1 mV") + step, "2 V").settled[-1].verdict is Verdict.PASS


MEASURE = """
[[step]]
id = "out"
title = "Output"
pattern = "measure"
channel = "output"
settle = "0.1 dB"
"""


def test_of_a_measured_step_it_rests_on_that_measurement() -> None:
    bench = Bench(MEASURE + derived("power", of="out", resistor="8 ohm", resistor_tolerance="1 %"))
    bench.run(6, output=2.83)
    measured, power = bench.settled
    assert power.value == pytest.approx(1.00, abs=0.005)
    assert (power.readings, power.since_ns) == (measured.readings, measured.since_ns)
    resistor = 0.01 / math.sqrt(3)
    relative = math.hypot(2 * measured.standard_uncertainty / measured.value, resistor)
    assert power.standard_uncertainty == pytest.approx(power.value * relative)


def test_of_a_channel_the_level_is_kept_beside_what_is_computed() -> None:
    step = derived("current", channel="panel", resistor="1 ohm", resistor_tolerance="1 %", settle="0.5 mV")
    bench = Bench(step)
    bench.run(6, panel=0.035)
    level, current = bench.settled
    assert (level.role, level.channel, level.unit) == (Role.MEASURED, "panel", Unit.VOLT)
    assert (current.role, current.channel, current.unit) == (Role.DERIVED, "", Unit.AMPERE)
    assert current.value == level.value
    with pytest.raises(IllegalAction, match="not settled yet"):
        Bench(step).press()


def test_a_role_tells_which_of_several_values_is_meant() -> None:
    first = derived("current", channel="panel", resistor="10 ohm", resistor_tolerance="1 %", settle="0.5 mV")
    source = '{step = "first", role = "measured"}'
    step = derived("deviation", nominal="100 mV").replace("kind", f"of = {source}\nkind")
    bench = Bench(first.replace('"result"', '"first"') + step)
    bench.run(6, panel=0.098)
    assert bench.settled[-1].value == pytest.approx(-0.02, abs=2e-4)


def test_what_cannot_be_computed_says_so_and_can_only_be_left() -> None:
    steps = manual("out", "V", "1 mV") + manual("in", "V", "1 mV") + derived("gain", of="out", against="in")
    bench = result_of(steps, "1 V", "0 V")
    bench.run(2)
    assert len(bench.settled) == 2
    assert "Not to be computed: 1.000 V and 0.000 V have no such result" in bench.engine.view().guide.do_now
    with pytest.raises(IllegalAction, match="redo what they come from"):
        bench.press()
    bench.act(ActionKind.SKIP, "no input")


def test_what_was_left_out_as_left_is_not_taken_from_as_found() -> None:
    turned = MEASURE.replace('"measure"', '"adjust"').replace(
        'settle = "0.1 dB"', 'target = "1 V"\ntolerance = "1 dB"'
    )
    bench = Bench(turned + derived("deviation", of="out", nominal="1 V"))
    bench.run_to(3, output=1.0)
    assert bench.engine.view().pass_ is Pass.AS_LEFT
    bench.act(ActionKind.SKIP, "called away")
    assert "out came to no value" in bench.engine.view().guide.do_now


def test_a_redo_of_what_it_rests_on_and_of_itself_computes_anew() -> None:
    bench = result_of(manual("drop", "mV", "1 %") + derived("current", **ONE_OHM), "50 mV")
    bench.act(ActionKind.REDO, "wrong range", 0)
    bench.act(ActionKind.ENTER, "60 mV")
    bench.act(ActionKind.REDO, "again", 1)
    bench.run(0.2)
    assert bench.settled[-1].value == pytest.approx(0.06)
    assert bench.settled[-1].replaces == 2


def test_the_same_events_give_the_same_results_again() -> None:
    steps = MEASURE + derived("power", of="out", resistor="8 ohm", resistor_tolerance="1 %")
    bench = Bench(steps)
    bench.run(6, output=2.83)
    again = Engine(load_procedure_text(HEAD + steps, "test.toml"))
    assert [outcome for event in bench.events for outcome in again.apply(event)] == bench.outcomes
