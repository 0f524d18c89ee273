"""A meter's own frequency response taken out of its readings. The curves are textbook networks; the one of a
hand-held meter is a published measurement by a user (a forum post, quoted from memory): -0.2 dB at 1.28 kHz,
-1.0 at 2.56 kHz, -3.3 at 5.12 kHz, -8.0 at 10.24 kHz.
"""

import math
from dataclasses import replace
from datetime import date

import pytest

from meterlog.accuracy import Accuracy, Capability, InUse, Range, Shown, Signal, Specification, Waveform
from meterlog.accuracy.appraisal import BETWEEN, GAIN, OFFSET, PROFILE, Appraisal, Observation
from meterlog.accuracy.band import Band
from meterlog.accuracy.profile import Profile, ProfileRow
from meterlog.quantity import ratio_from_db
from meterlog.reading import Coupling

OCTAVES = [40.0 * 2**n for n in range(10)]
U_DB = 0.02
FORUM = [(320.0, 0.0), (1280.0, -0.2), (2560.0, -1.0), (5120.0, -3.3), (10240.0, -8.0)]


def low_pass(frequency_hz: float, corner_hz: float = 5000.0, order: int = 1) -> float:
    """dB of `order` first-order low passes one after the other (any textbook): -10 n log10(1 + (f/fc)^2)."""
    return -10.0 * order * math.log10(1.0 + (frequency_hz / corner_hz) ** 2)


def profile(rows: list[tuple[float, float]], reference_hz: float) -> Profile:
    return Profile(
        meter="handheld",
        serial_number="",
        function="voltage",
        coupling=Coupling.AC,
        full_scale=6.0,
        measured=date(2026, 3, 1),
        valid_days=365.0,
        against="bench meter",
        reference_hz=reference_hz,
        rows=tuple(ProfileRow(hertz, db, 0.0 if hertz == reference_hz else U_DB) for hertz, db in rows),
    )


def sampled(order: int = 1) -> Profile:
    return profile(
        [(hertz, low_pass(hertz, order=order) - low_pass(640.0, order=order)) for hertz in OCTAVES], 640.0
    )


@pytest.mark.parametrize("order", [1, 2, 4])
def test_between_octaves_the_true_curve_lies_within_what_is_said(order: int) -> None:
    made, worst = sampled(order), 0.0
    for step in range(1, 90):
        hertz = 40.0 * 2 ** (step / 10)
        found = made.deviation(hertz)
        assert found is not None
        off = abs(found.db - (low_pass(hertz, order=order) - low_pass(640.0, order=order)))
        assert off <= found.between_db + 1e-9, hertz
        worst = max(worst, off)
    assert worst > 0.05, "the straight line is off by something, or this proves nothing"


def test_at_a_row_it_is_the_row() -> None:
    made = profile(FORUM, 320.0)
    for place, (hertz, db) in enumerate(FORUM):
        assert made.deviation(hertz) == (hertz, db, ((place, 1.0),), 0.0)


def test_half_way_between_two_rows_on_the_scale_of_the_logarithm() -> None:
    """Between 2.56 and 5.12 kHz: half of -1.0 and half of -3.3 dB at their geometric mean. Second divided
    differences over octaves (ln 2): (-2.3 + 0.8) and (-4.7 + 2.3) dB over 2 ln 2 squared; twice the larger
    times (ln 2 / 2)^2 is 2 * 2.4 / 2 / 4 = 0.6 dB."""
    found = profile(FORUM, 320.0).deviation(math.sqrt(2560.0 * 5120.0))
    assert found is not None
    assert found.db == pytest.approx(-2.15)
    assert dict(found.shares) == pytest.approx({2: 0.5, 3: 0.5})
    assert found.between_db == pytest.approx(0.6)


@pytest.mark.parametrize("hertz", [319.0, 10241.0, 1.0])
def test_beyond_the_rows_nothing_is_said(hertz: float) -> None:
    assert profile(FORUM, 320.0).deviation(hertz) is None


COUNT = 1e-3


def in_use(made: Profile | None = None) -> InUse:
    """2 % at 40 Hz to 1 kHz and 5 % up to 10 kHz, three counts; invented."""
    capability = Capability(
        "voltage",
        Coupling.AC,
        (Range(6.0, COUNT, 5.999), Range(60.0, 10 * COUNT, 59.99)),
        bands=(Band(40.0, 1000.0),),
        accuracies=(
            Accuracy(reading=0.02, counts=3.0, band=Band(40.0, 1000.0)),
            Accuracy(reading=0.05, counts=3.0, band=Band(1000.0, 20480.0)),
        ),
    )
    specification = Specification("A meter", 0.4, (capability,))
    made = made or profile(FORUM, 320.0)
    return InUse("handheld", specification, "voltage", Coupling.AC, profile=made, correct=True)


def seen(meter: InUse, indicated: float, hertz: float) -> Observation:
    """As the engine makes it of an indicated level: corrected, on the range that the meter said."""
    found = meter.correction(Signal(hertz), Shown(6.0))
    assert found is not None
    return Observation(
        "output", indicated * found.factor, 1e-5, 50.0, Signal(hertz), shown=Shown(6.0), corrected=found
    )


def test_the_level_is_what_the_meter_would_show_without_its_response() -> None:
    """1 V at 5.12 kHz shows as -3.3 dB, 0.684 V."""
    observed = seen(in_use(), ratio_from_db(-3.3), 5120.0)
    assert observed.value == pytest.approx(1.0)
    assert observed.indicated == pytest.approx(0.68391, abs=1e-5)


def test_the_lines_of_a_corrected_value() -> None:
    """Gain: the maker's 2 % at the reference frequency, not the 5 % up there; three counts,
    larger by the factor; the row's 0.02 dB, which are 0.23 %."""
    meter = in_use()
    appraisal = Appraisal({"output": meter})
    found = appraisal.budget(appraisal.observed(seen(meter, ratio_from_db(-3.3), 5120.0)))
    lines = {line.source.name: line.contribution for line in found.lines}
    assert lines[GAIN] == pytest.approx(0.02 / math.sqrt(3))
    assert lines[OFFSET] == pytest.approx(3 * COUNT * ratio_from_db(3.3) / math.sqrt(3))
    assert lines[PROFILE] == pytest.approx(math.log(10) / 20 * U_DB)
    assert BETWEEN not in lines


def test_between_rows_both_rows_and_the_line_have_their_share() -> None:
    meter = in_use()
    appraisal = Appraisal({"output": meter})
    found = appraisal.budget(appraisal.observed(seen(meter, 1.0, math.sqrt(2560.0 * 5120.0))))
    rows = [line for line in found.lines if line.source.name == PROFILE]
    (between,) = [line for line in found.lines if line.source.name == BETWEEN]
    value = found.value * math.log(10) / 20
    assert [line.contribution for line in rows] == pytest.approx([value * U_DB / 2] * 2)
    assert between.contribution == pytest.approx(value * 0.6 / math.sqrt(3))


def test_a_ratio_at_one_frequency_is_free_of_the_correction() -> None:
    meter = in_use()
    appraisal = Appraisal({"output": meter})
    for hertz in (5120.0, math.sqrt(2560.0 * 5120.0)):
        ratio = appraisal.observed(seen(meter, 1.0, hertz)) / appraisal.observed(seen(meter, 0.5, hertz))
        names = {line.source.name for line in appraisal.budget(ratio).lines if line.contribution > 1e-12}
        assert not names & {PROFILE, BETWEEN, GAIN}


def test_a_ratio_over_frequency_has_the_errors_of_both_rows_and_no_gain() -> None:
    """2.56 against 5.12 kHz, levels equal: root two of one row."""
    meter = in_use()
    appraisal = Appraisal({"output": meter})
    low, high = (
        appraisal.observed(seen(meter, ratio_from_db(db), hertz))
        for hertz, db in ((2560.0, -1.0), (5120.0, -3.3))
    )
    lines = appraisal.budget(low / high).lines
    rows = [line.contribution for line in lines if line.source.name == PROFILE]
    assert rows == pytest.approx([math.log(10) / 20 * U_DB] * 2)
    assert not [line for line in lines if line.source.name == GAIN and line.contribution > 1e-12]


@pytest.mark.parametrize("shown", [Shown(), Shown(60.0), Shown(count=10 * COUNT)])
def test_off_its_range_nothing_is_corrected(shown: Shown) -> None:
    assert in_use().correction(Signal(5120.0), shown) is None


def test_not_asked_nothing_is_corrected() -> None:
    assert replace(in_use(), correct=False).correction(Signal(5120.0), Shown(6.0)) is None
    assert in_use().correction(Signal(), Shown(6.0)) is None
    assert in_use().correction(Signal(5120.0, Waveform.NOISE), Shown(6.0)) is None
