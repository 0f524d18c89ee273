"""Steps against meters: which are asked, at which frequency, and what counts as a comparison."""

import math
from dataclasses import replace
from datetime import date

import pytest

from meterlog.accuracy import Accuracy, Band, Capability, Conditions, InUse, Profile, Range, Specification
from meterlog.accuracy.fitness import Fit
from meterlog.accuracy.profile import ProfileRow
from meterlog.procedure import StepFit, fits_of, load_procedure_text, unfit_words
from meterlog.reading import Coupling
from tests.procedure.bench import HEAD
from tests.procedure.test_meter_checks import STEP, TONE

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
    gain, offset, display = 0.01 / math.sqrt(3), 2e-3 / math.sqrt(3), 1e-3 / math.sqrt(12)
    assert found.ratio == pytest.approx(0.1 / (4.0 * math.hypot(gain, offset, display)))
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
    offset, display = 2e-3 / math.sqrt(3), 1e-3 / math.sqrt(12)
    assert row.uncertainty == pytest.approx(2 * math.sqrt(2) * math.hypot(offset, display))


def test_decibels_about_another_step_on_another_range_are_none() -> None:
    """20 dB more is 10 V, on the range of 20 V: its gain is another."""
    row = fits(STEP + LOUDER.replace("TARGET", "20 dB"))[-1].fitness
    assert row.uncertainty is not None
    assert row.uncertainty > 2 * 0.01 * 10.0 / math.sqrt(3)


def test_what_would_help_is_said_in_two_digits() -> None:
    (row,) = fits(STEP.replace("5 %", "1 %"))
    assert row.fitness.fit is Fit.NOT_ADEQUATE
    assert unfit_words(row) == (
        "its own uncertainty is large in the window: ± 12 mV, where ± 2.5 mV would be a quarter of it; "
        "take a meter that good there"
    )


def corrected(steps: str, days: float = 30.0) -> list[StepFit]:
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
    meter = InUse(
        "meter",
        Specification("2000 counts", 0.4, (narrow,)),
        "voltage",
        Coupling.AC,
        profile=profile,
        correct=True,
    )
    made = load_procedure_text(HEAD + steps, "p.toml")
    return fits_of(made, {"output": meter}, {"output": Conditions(days_since_profile=days)})


def at(step: str, frequency: str) -> str:
    return step.replace('channel = "output"', f'channel = "output"\nfrequency = "{frequency}"')


def test_a_corrected_meter_is_as_good_as_at_the_reference_and_its_profile() -> None:
    """10 kHz lies outside its band, and its profile goes there: 1 % and 2 counts as at 1 kHz, and 0.05 dB."""
    row = corrected(at(STEP, "10 kHz"))[0]
    gain, offset, display = 0.01 / math.sqrt(3), 2e-3 / math.sqrt(3), 1e-3 / math.sqrt(12)
    own = 0.05 * math.log(10) / 20
    assert row.fitness.uncertainty == pytest.approx(2.0 * math.hypot(gain, offset, display, own))
    assert row.profile == "corrected by +1.00 dB, profile of 2026-03-01"


def test_about_a_step_at_the_same_frequency_the_profile_falls_out() -> None:
    louder = LOUDER.replace("TARGET", "1 dB")
    same, other = (
        corrected(at(STEP, "10 kHz") + at(louder, hertz))[1].fitness.uncertainty
        for hertz in ("10 kHz", "5 kHz")
    )
    plain = fits(at(STEP, "1 kHz") + at(louder, "1 kHz"))[1].fitness.uncertainty
    assert same == pytest.approx(plain)
    assert plain is not None
    rows = 0.05 * math.sqrt(2.0) * math.log(10) / 20 * 10 ** (1 / 20)
    assert other == pytest.approx(math.hypot(plain, 2.0 * rows))


def test_an_old_profile_makes_the_meter_unfit_until_somebody_says_why() -> None:
    row = corrected(at(STEP, "10 kHz"), days=366.0)[0]
    assert row.fitness.fit is Fit.NOT_ADEQUATE
    assert unfit_words(row) == "its profile of 2026-03-01 was to hold for 365 days; measure it anew"


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
