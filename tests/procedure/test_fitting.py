"""Steps against meters: which are asked, at which frequency, and what counts as a comparison."""

import math
from dataclasses import replace
from datetime import date

import pytest

from meterlog.accuracy import Accuracy, Band, Capability, Conditions, InUse, Profile, Range, Specification
from meterlog.accuracy.fitness import Fit
from meterlog.accuracy.profile import ProfileRow
from meterlog.files import Severity
from meterlog.procedure import StepFit, fits_of, load_procedure_text, meter_findings, point_at, unfit_words
from meterlog.reading import Coupling
from tests.accuracy.asked import expanded
from tests.procedure.bench import HEAD
from tests.procedure.test_meter_checks import STEP, TONE
from tests.procedure.test_patterns import BACK_OFF, EXTREMUM

# Invented: 1 % below 2 kHz, 3 % above; one range of 2 V in 1 mV, one of 20 V in 10 mV
VOLTS = Capability(
    "voltage",
    Coupling.AC,
    (Range(2.0, 1e-3, 1.999), Range(20.0, 1e-2, 19.99)),
    (Band(40.0, 20e3),),
    accuracies=(
        Accuracy(reading=0.01, counts=2.0, band=Band(40.0, 2e3)),
        Accuracy(reading=0.03, counts=2.0, band=Band(2e3, 20e3)),
    ),
)
LOUDER = """
[[step]]
id = "louder"
title = "Louder"
pattern = "measure"
channel = "output"
reference = "level"
target = "TARGET"
tolerance = "0.25 dB"
"""


def fits(steps: str) -> list[StepFit]:
    meter = InUse("meter", Specification("2000 counts", 0.4, (VOLTS,)), "voltage", Coupling.AC)
    return fits_of(load_procedure_text(HEAD + steps, "p.toml"), {"output": meter}, {"output": Conditions()})


def test_a_row_says_which_step_at_which_level_and_frequency() -> None:
    row = fits(TONE + STEP)[-1]
    assert (row.step, row.channel, str(row.level), row.frequency_hz, row.assumed) == (
        "level", "output", "1 V", 1000.0, False,
    )  # fmt: skip


def test_the_ratio_by_hand() -> None:
    """1 V +- 5 %: 0.1 V wide. 1 % and 2 counts as bounds, a count of 1 mV: calculated here."""
    found = fits(TONE + STEP)[-1].fitness
    assert found.ratio == pytest.approx(0.1 / (2.0 * expanded(0.01, 2e-3)))
    assert found.fit is Fit.ADEQUATE


def test_where_no_tone_is_named_that_of_1_khz_is_taken_and_said() -> None:
    row = fits(STEP)[0]
    assert (row.frequency_hz, row.assumed) == (1000.0, True)


def test_the_row_of_the_band_counts() -> None:
    high = TONE.replace("1 kHz", "10 kHz")
    near, far = fits(TONE + STEP)[-1].fitness, fits(high + STEP)[-1].fitness
    assert near.accuracy is VOLTS.accuracies[0]
    assert far.accuracy is VOLTS.accuracies[1]


def test_decibels_about_another_step_on_the_same_range_are_a_comparison() -> None:
    """The error of gain falls out; +-0.25 dB with a meter of 1 % is then judged by its counts alone."""
    row = fits(STEP + LOUDER.replace("TARGET", "-1 dB"))[-1].fitness
    ratio = 10 ** (-1 / 20)
    assert row.uncertainty == pytest.approx(expanded(2e-3, ratio * 2e-3, counts=(1e-3, ratio * 1e-3)))


def test_decibels_about_another_step_on_another_range_are_none() -> None:
    """20 dB more is 10 V, on the range of 20 V: its gain is another."""
    row = fits(STEP + LOUDER.replace("TARGET", "20 dB"))[-1].fitness
    assert row.uncertainty is not None
    assert row.uncertainty > 2 * 0.01 * 10.0 / math.sqrt(3)


def test_what_would_help_is_said_in_two_digits() -> None:
    (row,) = fits(STEP.replace("5 %", "1 %"))
    assert row.fitness.fit is Fit.NOT_ADEQUATE
    assert unfit_words(row) == (
        "its own uncertainty is large in the window: ± 10 mV, where ± 2.5 mV would be a quarter of it; "
        "take a meter that good there"
    )


def corrected_meter() -> InUse:
    """With a profile of the 2 V range: 1 dB down at 10 kHz, 0.05 dB (k = 1); invented."""
    rows = ((1e3, 0.0, 0.0), (5e3, -0.3, 0.05), (10e3, -1.0, 0.05))
    profile = Profile(
        meter="meter",
        serial_number="",
        function="voltage",
        coupling=Coupling.AC,
        full_scale=2.0,
        measured=date(2026, 3, 1),
        valid_days=365.0,
        against="another",
        reference_hz=1e3,
        rows=tuple(ProfileRow(*row) for row in rows),
    )
    narrow = replace(VOLTS, bands=(Band(40.0, 2e3),), accuracies=VOLTS.accuracies[:1])
    known = Specification("2000 counts", 0.4, (narrow,))
    return InUse("meter", known, "voltage", Coupling.AC, profile=profile, correct=True)


def corrected(steps: str, days: float = 30.0) -> list[StepFit]:
    made = load_procedure_text(HEAD + steps, "p.toml")
    return fits_of(made, {"output": corrected_meter()}, {"output": Conditions(days_since_profile=days)})


def at(step: str, frequency: str) -> str:
    return step.replace('channel = "output"', f'channel = "output"\nfrequency = "{frequency}"')


def test_a_corrected_meter_is_as_good_as_at_the_reference_and_its_profile() -> None:
    """10 kHz lies outside its band, and its profile goes there: 1 % and 2 counts as at 1 kHz, and 0.05 dB."""
    row = corrected(at(STEP, "10 kHz"))[0]
    up, own = 10 ** (1 / 20), 0.05 * math.log(10) / 20
    by_hand = expanded(0.01, up * 2e-3, counts=(up * 1e-3,), normal=(own,))
    assert row.fitness.uncertainty == pytest.approx(by_hand)
    assert row.profile == "corrected by +1.00 dB, profile of 2026-03-01"


def test_about_a_step_at_the_same_frequency_the_profile_falls_out() -> None:
    louder = LOUDER.replace("TARGET", "1 dB")
    same, other = (
        corrected(at(STEP, "10 kHz") + at(louder, hertz))[1].fitness.uncertainty
        for hertz in ("10 kHz", "5 kHz")
    )
    level, ups = 10 ** (1 / 20), {"10 kHz": 10 ** (1 / 20), "5 kHz": 10 ** (0.3 / 20)}

    def by_hand(hertz: str, *rows: float) -> float:
        parts = (ups[hertz], level * ups["10 kHz"])
        counts = tuple(1e-3 * one for one in parts)
        return expanded(*(2e-3 * one for one in parts), counts=counts, normal=rows)

    assert same == pytest.approx(by_hand("10 kHz"))
    assert other == pytest.approx(by_hand("5 kHz", *[0.05 * math.log(10) / 20 * level] * 2))


def test_an_old_profile_makes_the_meter_unfit_until_somebody_says_why() -> None:
    row = corrected(at(STEP, "10 kHz"), days=366.0)[0]
    assert row.fitness.fit is Fit.NOT_ADEQUATE
    assert unfit_words(row) == "its profile of 2026-03-01 was to hold for 365 days; measure it anew"


def test_a_profile_that_does_not_reach_the_frequency_is_none_though_the_meter_itself_does() -> None:
    """From 1 to 10 kHz, and the meter from 40 Hz. What is corrected must not stand beside what is not."""
    row = corrected(at(STEP, "50 Hz"))[0]
    assert row.fitness.fit is Fit.NOT_ADEQUATE
    assert unfit_words(row) == "the profile that corrects it does not reach the frequency"


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        (STEP, "not corrected: no frequency is stated"),
        (at(STEP, '5 kHz"\nwaveform = "noise'), "not corrected: noise has no one frequency"),
        (at(STEP, "11 kHz"), "not corrected: outside the profile of 2026-03-01"),
        (
            at(STEP, "5 kHz").replace("1 V", "10 V"),
            "not corrected: the profile of 2026-03-01 is of another range",
        ),
    ],
)
def test_what_is_not_corrected_says_why(steps: str, words: str) -> None:
    assert corrected(steps)[0].profile == words


ROWS = """
[[step]]
id = "rows"
title = "Rows"
pattern = "table"
channel = "output"
tolerance = "0.5 dB"
MORE
[[step.row]]
at = "1 kHz"
expected = "FIRST"
[[step.row]]
at = "20 kHz"
expected = "OTHER"
[[step.row]]
at = "1.5 kHz"
expected = "OTHER"
tolerance = "0.4 dB"
"""


def table(first: str = "1 V", other: str = "1 V", more: str = "") -> str:
    written = ROWS.replace('expected = "FIRST"\n', f'expected = "{first}"\n' if first else "")
    return written.replace("OTHER", other).replace("MORE", more)


@pytest.mark.parametrize(
    ("step", "is_error"),
    [
        (at(STEP, "20 kHz"), True),
        (table(), True),
        (at(EXTREMUM, "20 kHz"), False),
        (at(EXTREMUM, "20 kHz").replace("0.3 dB", "20 mV"), False),
        (at(BACK_OFF, "20 kHz"), False),
    ],
    ids=["level", "rows", "peak in dB", "peak in V", "fall from it"],
)
def test_the_checker_and_the_fit_say_the_same_outside_a_profile(step: str, is_error: bool) -> None:
    """20 kHz is beyond the profile and the meter's own band: a level is wrong by an unknown factor, so a
    session is refused. Where only levels at that frequency are compared it is not, and both say so."""
    made = load_procedure_text(HEAD + step, "p.toml")
    found = list(meter_findings(made, {"output": corrected_meter()}))
    fits = {row.fitness.fit for row in corrected(step)}
    assert [one.severity for one in found]
    assert any(one.severity is Severity.ERROR for one in found) is is_error
    assert (Fit.NOT_ADEQUATE in fits) is is_error


@pytest.mark.parametrize(("days", "said"), [(365.0, []), (366.0, ["channel.1.name"])])
def test_the_checker_tells_an_outdated_profile_as_the_fit_does(days: float, said: list[str]) -> None:
    """The profile of 2026-03-01 was to hold for 365 days."""
    made = load_procedure_text(HEAD + at(STEP, "10 kHz"), "p.toml")
    on_day = {"output": Conditions(days_since_profile=days)}
    found = point_at(meter_findings(made, {"output": corrected_meter()}, on_day), made.text, "p.toml")
    assert [problem.field for problem in found] == said
    worn = "its profile of 2026-03-01 was to hold for 365 days; measure it anew"
    assert all(worn in problem.message and problem.severity is Severity.WARNING for problem in found)
    assert (corrected(at(STEP, "10 kHz"), days)[0].fitness.why == worn) is bool(said)


def narrow(steps: str) -> list[StepFit]:
    """To 2 kHz, in two rows of its maker's table: 1 % to 1.2 kHz, 3 % above."""
    accuracies = (
        replace(VOLTS.accuracies[0], band=Band(40.0, 1.2e3)),
        replace(VOLTS.accuracies[1], band=Band(1.2e3, 2e3)),
    )
    able = replace(VOLTS, bands=(Band(40.0, 2e3),), accuracies=accuracies)
    meter = InUse("meter", Specification("2000 counts", 0.4, (able,)), "voltage", Coupling.AC)
    return fits_of(load_procedure_text(HEAD + steps, "p.toml"), {"output": meter}, {"output": Conditions()})


def alone(level_v: float, gain: float) -> float:
    """The expanded uncertainty of one level on the range of 2 V, by hand."""
    return expanded(gain * level_v, 2e-3)


def against(level_v: float, gain: float, other_gain: float) -> float:
    """That of a level as compared with one of 1 V that shares no error with it."""
    bounds = (gain * level_v, other_gain * level_v, 2e-3, level_v * 2e-3)
    return expanded(*bounds, counts=(1e-3, level_v * 1e-3))


def test_each_row_of_a_table_is_judged_at_its_own_frequency_and_the_table_is_no_row() -> None:
    rows = narrow(table())
    assert [(row.part, str(row.level), row.frequency_hz, row.assumed) for row in rows] == [
        ("1 kHz", "1 V", 1e3, False),
        ("20 kHz", "1 V", 20e3, False),
        ("1.5 kHz", "1 V", 1.5e3, False),
    ]
    assert [row.fitness.fit for row in rows] == [Fit.ADEQUATE, Fit.NOT_ADEQUATE, Fit.MARGINAL]
    assert rows[1].fitness.why == "the frequency is outside its band"


def test_a_row_has_its_own_tolerance_or_that_of_the_table() -> None:
    widths = (10 ** (db / 20) - 10 ** (-db / 20) for db in (0.5, 0.4))
    inherited, _, own = narrow(table())
    assert inherited.fitness.ratio == pytest.approx(next(widths) / (2.0 * alone(1.0, 0.01)))
    assert own.fitness.ratio == pytest.approx(next(widths) / (2.0 * alone(1.0, 0.03)))


def test_a_row_in_db_about_another_has_its_level_and_at_another_frequency_its_own_error_of_gain() -> None:
    """-6 dB about 1 V is 0.50119 V. What the maker grants between the two frequencies is no shared
    error: that of the reference counts too."""
    of_reference, far, near = narrow(table(other="-6 dB", more='reference_row = "1 kHz"'))
    assert near.level is not None
    assert near.level.base == pytest.approx(10 ** (-6 / 20))
    assert near.fitness.uncertainty == pytest.approx(against(10 ** (-6 / 20), 0.03, 0.01))
    assert (of_reference.fitness.fit, far.fitness.fit) == (Fit.ADEQUATE, Fit.NOT_ADEQUATE)


def test_a_row_in_db_about_a_step_at_its_own_frequency_is_a_comparison() -> None:
    same, _, in_its_row = fits(at(STEP, "1 kHz") + table("-1 dB", "-1 dB", 'reference = "level"'))[1:]
    ratio = 10 ** (-1 / 20)
    by_hand = expanded(2e-3, ratio * 2e-3, counts=(1e-3, ratio * 1e-3))
    assert same.fitness.uncertainty == pytest.approx(by_hand)
    assert in_its_row.frequency_hz == 1.5e3, "one row of the maker's table, which holds the response too"
    assert in_its_row.fitness.uncertainty == pytest.approx(against(ratio, 0.01, 0.01))


def test_a_level_about_a_step_at_another_frequency_is_no_comparison_either() -> None:
    louder = at(LOUDER.replace("TARGET", "1 dB"), "10 kHz")
    one = fits(at(STEP, "1 kHz") + louder)[1].fitness
    assert one.uncertainty == pytest.approx(against(10 ** (1 / 20), 0.03, 0.01))


def test_rows_about_a_level_that_is_not_known_hang_on_it_and_outside_the_band_not_even_that() -> None:
    """The reference row itself, of which nothing is expected, is not judged."""
    far, near = narrow(table(first="", other="-1 dB", more='reference_row = "1 kHz"'))
    assert (near.fitness.fit, far.fitness.fit) == (Fit.UNKNOWN, Fit.NOT_ADEQUATE)
    assert near.fitness.why == "how wide its window is hangs on what is measured before"


def test_a_curve_says_what_is_expected_of_rows_that_stand_in_no_file() -> None:
    """IEC 60098, from its time constants: 20 Hz lies 19.274 dB above 1 kHz, 20 kHz 19.620 dB below."""
    curve = table().split("[[step.row]]")[0] + 'curve = "riaa"\nreference = "level"\n'
    rows = {row.part: row.level for row in fits(at(STEP, "1 kHz") + curve)[1:]}
    db = {name: 20 * math.log10(level.base) for name, level in rows.items() if level}
    assert len(db) == 17
    assert db["20 Hz"] == pytest.approx(19.274, abs=1e-3)
    assert db["20 kHz"] == pytest.approx(-19.620, abs=1e-3)


def test_rows_over_level_have_the_frequency_of_their_step() -> None:
    steps = table(more='frequency = "3 kHz"')
    for hertz, volts in (("1 kHz", "0.1 V"), ("20 kHz", "0.2 V"), ("1.5 kHz", "0.3 V")):
        steps = steps.replace(f'at = "{hertz}"', f'at = "{volts}"')
    assert [(row.part, row.frequency_hz, row.fitness.fit) for row in narrow(steps)] == [
        (volts, 3e3, Fit.NOT_ADEQUATE) for volts in ("0.1 V", "0.2 V", "0.3 V")
    ]


def test_under_a_guard_band_rows_of_a_meter_that_nobody_described_are_not_adequate() -> None:
    text = (HEAD + table()).replace('revision = "', 'decision = "guard band"\nrevision = "', 1)
    rows = fits_of(load_procedure_text(text, "p.toml"), {}, {})
    assert [(row.part, row.fitness.fit) for row in rows] == [
        (hertz, Fit.NOT_ADEQUATE) for hertz in ("1 kHz", "20 kHz", "1.5 kHz")
    ]
