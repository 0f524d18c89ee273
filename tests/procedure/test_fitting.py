"""Steps against meters: which are asked, at which frequency, and what counts as a comparison."""

import math

import pytest

from meterlog.accuracy import Accuracy, Band, Capability, Conditions, InUse, Range, Specification
from meterlog.accuracy.fitness import Fit
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
