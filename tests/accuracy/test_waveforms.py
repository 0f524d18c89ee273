"""What a meter that averages shows of other waveforms: a handbook's table, recomputed, in
tests/reference/levels/waveform_response.csv, and sums over a period."""

import csv
import math
from dataclasses import replace
from pathlib import Path

import pytest

from meterlog.accuracy import Accuracy, Capability, Conditions, InUse, Range, Response, Signal, Specification
from meterlog.accuracy.appraisal import DISTORTION, WAVEFORM, Appraisal, Observation
from meterlog.accuracy.fitness import Fit, Fitness, Task
from meterlog.accuracy.waveforms import (
    CREST_FACTORS,
    Waveform,
    average_over_rms,
    off_by_distortion,
    off_by_waveform,
)
from meterlog.reading import Coupling
from tests.accuracy.asked import asked, expanded
from tests.accuracy.asked import judged as by

TABLE = Path(__file__).parents[1] / "reference" / "levels" / "waveform_response.csv"
NAMES = {
    "sine": Waveform.SINE,
    "square": Waveform.SQUARE,
    "triangle": Waveform.TRIANGLE,
    "full-wave rectified sine": Waveform.FULL_WAVE,
    "half-wave rectified sine": Waveform.HALF_WAVE,
    "gaussian noise": Waveform.NOISE,
}
LINES = [line for line in TABLE.read_text().splitlines() if not line.startswith("#")]
ROWS = {row["waveform"]: row for row in csv.DictReader(LINES)}


@pytest.mark.parametrize("name", NAMES)
def test_what_an_average_responding_meter_shows(name: str) -> None:
    row, waveform = ROWS[name], NAMES[name]
    assert average_over_rms(waveform) == pytest.approx(float(row["reading_over_ac_rms"]), abs=5e-5)
    assert 20 * math.log10(average_over_rms(waveform)) == pytest.approx(float(row["error_db"]), abs=5e-4)
    if row["crest_factor_ac"]:
        assert CREST_FACTORS[waveform] == pytest.approx(float(row["crest_factor_ac"]), abs=5e-4)
    assert set(NAMES.values()) == set(Waveform)


def shown_over_rms(harmonics: dict[int, tuple[float, float]], points: int = 4000) -> float:
    """Of a sine with these harmonics (share, phase): by sums over one period."""
    period = [2 * math.pi * (n + 0.5) / points for n in range(points)]
    wave = [
        math.sin(at) + sum(d * math.sin(n * at + phase) for n, (d, phase) in harmonics.items())
        for at in period
    ]
    rms = math.sqrt(sum(one * one for one in wave) / points)
    return math.pi / (2 * math.sqrt(2)) * sum(map(abs, wave)) / points / rms


@pytest.mark.parametrize("distortion", [0.003, 0.01, 0.03, 0.1])
def test_harmonics_stay_within_the_bound(distortion: float) -> None:
    """One of each kind in its worst phases, and those of a square wave in their shares (1, 1/3, 1/5, ...)."""
    worst = 0.0
    for n in (2, 3, 5):
        for phase in (0.0, math.pi / 2, math.pi):
            off = abs(shown_over_rms({n: (distortion, phase)}) - 1.0)
            worst = max(worst, off)
            assert off <= off_by_distortion(distortion)
    assert worst == pytest.approx(distortion / 3, rel=0.2), "a third harmonic: a third of it"
    odd = range(3, 60, 2)
    scale = distortion / math.sqrt(sum(1 / n**2 for n in odd))
    square = abs(shown_over_rms({n: (scale / n, 0.0) for n in odd}) - 1.0)
    assert square <= off_by_distortion(distortion)
    assert square > 0.75 * off_by_distortion(distortion)


def meter(response: Response | None, crest: float | None = None, coupling: Coupling = Coupling.AC) -> InUse:
    """1 % of reading, one range of 2 V in 0.1 mV; invented."""
    capability = Capability(
        "voltage",
        coupling,
        (Range(2.0, 1e-4, 1.9999),),
        response=response,
        crest_factor=crest,
        accuracies=(Accuracy(reading=0.01),),
    )
    return InUse("meter", Specification("A meter", 0.4, (capability,)), "voltage", coupling)


TASK = asked(0.2, 1.0, waveform=Waveform.NOISE)


def judged(used: InUse, task: Task = TASK) -> Fitness:
    return by(task, used, Conditions())


def test_noise_on_a_meter_that_averages_is_refused_in_words_with_what_helps() -> None:
    found = judged(meter(Response.AVERAGE))
    assert found.fit is Fit.NOT_ADEQUATE
    assert found.why == "it averages and shows noise -1.05 dB off its rms value; take a true-rms meter"
    assert judged(meter(Response.TRUE_RMS)).fit is Fit.ADEQUATE
    assert judged(meter(Response.AVERAGE), asked(0.2, 1.0)).fit is Fit.ADEQUATE


def test_nobody_knows_where_nobody_says() -> None:
    found = judged(meter(None))
    assert found.fit is Fit.UNKNOWN
    assert "nobody has said what it shows of noise" in found.why
    assert judged(meter(None, coupling=Coupling.DC)).fit is Fit.ADEQUATE


def test_noise_about_noise_is_read_alike() -> None:
    alike = asked(0.2, 1.0, waveform=Waveform.NOISE, about=1.0)
    assert judged(meter(Response.AVERAGE), alike).fit is Fit.ADEQUATE
    assert judged(meter(Response.AVERAGE), replace(alike, alike=False)).fit is Fit.NOT_ADEQUATE


def test_crests_that_the_range_cuts() -> None:
    """Crest factor 1.4 at 2 V: crests up to 2.8 V; noise of 1 V has them up to 3 V, of 0.9 V to 2.7 V."""
    found = judged(meter(Response.TRUE_RMS, 1.4))
    assert found.fit is Fit.NOT_ADEQUATE
    assert found.why == "its range cuts the crests of noise, 3 times the rms; take a higher range"
    assert judged(meter(Response.TRUE_RMS, 1.4), asked(0.2, 0.9, waveform=Waveform.NOISE)).fit is Fit.ADEQUATE


def test_distortion_makes_a_meter_that_averages_less_sure() -> None:
    """1 % of it: 0.483 % and half of its square, as bounds, beside 1 % of the meter."""
    distorted = asked(0.2, 1.0, distortion=0.01)
    bound = 0.48348 * 0.01 + 0.5e-4
    expected = expanded(0.01, bound, counts=(1e-4,))
    assert judged(meter(Response.AVERAGE), distorted).uncertainty == pytest.approx(expected, rel=1e-4)
    plain = judged(meter(Response.TRUE_RMS), asked(0.2, 1.0))
    assert judged(meter(Response.TRUE_RMS), distorted).uncertainty == plain.uncertainty


def seen(value: float, signal: Signal) -> Observation:
    return Observation("output", value, 1e-5, 50.0, signal)


def test_the_budget_takes_waveform_and_distortion() -> None:
    """Noise: what is shown is 0.8862 of the truth, so that is 12.84 % above it."""
    appraisal = Appraisal({"output": meter(Response.AVERAGE)})
    noise = appraisal.budget(appraisal.observed(seen(1.0, Signal(waveform=Waveform.NOISE))))
    lines = {line.source.name: line.contribution for line in noise.lines}
    assert lines[WAVEFORM] == pytest.approx((1 / 0.88623 - 1) / math.sqrt(3), rel=1e-4)
    assert off_by_waveform(Waveform.NOISE) == pytest.approx(0.12838, abs=1e-5)
    sine = appraisal.budget(appraisal.observed(seen(1.0, Signal(distortion=0.01))))
    lines = {line.source.name: line.contribution for line in sine.lines}
    assert lines[DISTORTION] == pytest.approx(off_by_distortion(0.01) / math.sqrt(3))
    assert WAVEFORM not in lines


def test_of_two_noises_the_waveform_falls_out_and_of_noise_and_tone_it_does_not() -> None:
    appraisal = Appraisal({"output": meter(Response.AVERAGE)})
    noise = Signal(waveform=Waveform.NOISE)
    one, other, tone = (appraisal.observed(seen(1.0, signal)) for signal in (noise, noise, Signal()))
    for ratio, counts in ((one / other, False), (one / tone, True)):
        lines = [line for line in appraisal.budget(ratio).lines if line.source.name == WAVEFORM]
        assert any(line.contribution > 1e-12 for line in lines) is counts


def test_a_true_rms_meter_needs_neither() -> None:
    appraisal = Appraisal({"output": meter(Response.TRUE_RMS)})
    distorted = Signal(waveform=Waveform.NOISE, distortion=0.1)
    found = appraisal.budget(appraisal.observed(seen(1.0, distorted)))
    assert not {WAVEFORM, DISTORTION} & {line.source.name for line in found.lines}


def test_nothing_is_known_of_noise_on_a_meter_of_which_nobody_says() -> None:
    noise = seen(1.0, Signal(waveform=Waveform.NOISE))
    for response, known in ((None, False), (Response.AVERAGE, True), (Response.TRUE_RMS, True)):
        assert Appraisal({"output": meter(response)}).is_known(noise) is known
