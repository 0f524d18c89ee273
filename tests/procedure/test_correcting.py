"""A meter's own response taken out of its readings: what the hand goes by, what is taken, what is kept.

The meter is invented: 1 % and 2 counts of 1 mV at 1 kHz, 3.3 dB down at 5.12 kHz (a user's published
measurement of a hand-held meter, from memory).
"""

import math
from datetime import date

import pytest

from meterlog.accuracy import Accuracy, Capability, InUse, Profile, Range, Specification, Verdict
from meterlog.accuracy.appraisal import GAIN, PROFILE
from meterlog.accuracy.band import Band
from meterlog.accuracy.profile import ProfileRow
from meterlog.procedure import Engine, load_procedure_text
from meterlog.quantity import ratio_from_db
from meterlog.reading import Coupling
from tests.procedure.bench import HEAD, Bench

DOWN = ratio_from_db(-3.3)
ROWS = ((1000.0, 0.0, 0.0), (2560.0, -1.0, 0.02), (5120.0, -3.3, 0.02))
VOLTS = Capability(
    "voltage",
    Coupling.AC,
    (Range(2.0, 1e-3, 1.999), Range(20.0, 1e-2, 19.99)),
    bands=(Band(40.0, 1000.0),),
    accuracies=(Accuracy(reading=0.01, counts=2.0, band=Band(40.0, 1000.0)),),
)
PROFILE_OF_IT = Profile(
    meter="meter",
    serial_number="",
    function="voltage",
    coupling=Coupling.AC,
    full_scale=2.0,
    measured=date(2026, 3, 1),
    valid_days=365.0,
    against="another",
    reference_hz=1000.0,
    rows=tuple(ProfileRow(*row) for row in ROWS),
)
METER = InUse(
    "meter",
    Specification("A meter", 0.4, (VOLTS,)),
    "voltage",
    Coupling.AC,
    profile=PROFILE_OF_IT,
    correct=True,
)
METERS = {"output": METER}


def step(pattern: str, name: str, frequency: str = "5.12 kHz", more: str = "") -> str:
    return f"""
[[step]]
id = "{name}"
title = "{name}"
pattern = "{pattern}"
channel = "output"
frequency = "{frequency}"
dwell = "0.8 s"
{more}
"""


LEVEL = 'target = "1 V"\ntolerance = "0.5 dB"'
ABOUT = 'reference = "level"\ntarget = "0 dB"\ntolerance = "0.5 dB"'


def bench(steps: str) -> Bench:
    made = Bench(steps, meters=METERS, noise=2e-5)
    made.fields = {"range_max": 2.0, "resolution": 1e-3}
    return made


def test_the_value_is_the_level_and_says_by_how_much_it_was_corrected() -> None:
    made = bench(step("measure", "level", more=LEVEL))
    made.run_to(1, output=DOWN)
    (value,) = made.settled
    assert value.value == pytest.approx(1.0, abs=1e-4)
    assert value.correction == pytest.approx(1.0 / DOWN)
    assert value.verdict is Verdict.PASS
    names = {line.source.name for line in value.budget}
    assert {GAIN, PROFILE} <= names


def test_the_hand_is_guided_by_the_corrected_level() -> None:
    """As shown the level is 3.3 dB low: who went by that would turn it up by so much."""
    made = bench(step("adjust", "level", more=LEVEL))
    made.run_to(1, output=DOWN)  # as found
    made.run(0.4, output=DOWN * ratio_from_db(1.0))
    guide = made.engine.view().guide
    assert guide.present == pytest.approx(ratio_from_db(1.0), abs=1e-3)
    assert guide.distance == pytest.approx(1.0, abs=0.01)
    made.run(4, output=DOWN)
    assert made.settled[-1].value == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize(
    "fields", [{}, {"range_max": 20.0}, {"resolution": 1e-2}], ids=["no range", "another", "its count"]
)
def test_on_another_range_the_level_stays_as_it_is_shown(fields: dict[str, object]) -> None:
    made = bench(step("measure", "level", more=LEVEL))
    made.fields = fields
    made.run_to(1, output=0.9)
    (value,) = made.settled
    assert (value.correction, value.value) == (None, pytest.approx(0.9, abs=1e-4))


def test_without_a_frequency_nothing_is_corrected() -> None:
    made = bench(step("measure", "level", more=LEVEL).replace('frequency = "5.12 kHz"\n', ""))
    made.run_to(1, output=1.0)
    assert made.settled[0].correction is None


def test_between_two_steps_at_one_frequency_the_correction_falls_out() -> None:
    """It is in both alike, and so is its error; over frequency each row's error counts."""
    for second, share in (("5.12 kHz", 0), ("2.56 kHz", 2)):
        made = bench(step("measure", "level", more=LEVEL) + step("measure", "again", second, ABOUT))
        made.run_to(1, output=DOWN)
        made.run_to(2, output=DOWN if share == 0 else ratio_from_db(-1.0))
        again = made.settled[-1]
        assert again.value == pytest.approx(1.0, abs=1e-3)
        rows = [one for one in again.budget if one.source.name == PROFILE and one.contribution > 1e-6]
        assert len(rows) == share
        gain = [one.contribution for one in again.budget if one.source.name == GAIN]
        assert max(gain, default=0.0) < 1e-5


TABLE = """
[[step]]
id = "curve"
title = "Curve"
pattern = "table"
channel = "output"
curve = "flat"
reference_row = "1 kHz"
tolerance = "0.5 dB"
dwell = "0.8 s"
[[step.row]]
at = "1 kHz"
[[step.row]]
at = "2.56 kHz"
[[step.row]]
at = "5.12 kHz"
"""


def test_each_row_of_a_table_is_corrected_at_its_own_frequency() -> None:
    made = bench(TABLE)
    for _, db, _ in ROWS:
        made.press()
        made.run(4, output=ratio_from_db(db))
    assert [value.value for value in made.settled] == pytest.approx([1.0] * 3, abs=1e-3)
    assert [value.verdict for value in made.settled[1:]] == [Verdict.PASS] * 2
    factors = [value.correction for value in made.settled]
    assert factors == pytest.approx([ratio_from_db(-db) for _, db, _ in ROWS])


def test_a_guard_goes_by_the_corrected_level() -> None:
    """1.2 V at the point show as 0.82 V: the limit of 1.1 V is passed."""
    guard = '[[guard]]\nname = "G"\nchannel = "output"\nnever_above = "1.1 V"\ntext = "Stop."\n'
    made = bench(step("measure", "level", more=LEVEL) + guard)
    made.run(1, output=1.2 * DOWN)
    assert made.engine.view().alarm is not None


def test_replay_from_the_raw_readings_gives_the_same_values() -> None:
    steps = step("measure", "level", more=LEVEL) + TABLE
    made = bench(steps)
    made.run_to(1, output=DOWN)
    for _, db, _ in ROWS:
        made.press()
        made.run(4, output=ratio_from_db(db))
    again = Engine(load_procedure_text(HEAD + steps, "test.toml"), METERS)
    assert [outcome for event in made.events for outcome in again.apply(event)] == made.outcomes
    assert not math.isclose(made.settled[0].value, DOWN, rel_tol=0.1), "the readings are raw"
