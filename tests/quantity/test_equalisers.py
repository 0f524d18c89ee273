"""The disc replay curve against published figures.

The table is that of IEC 60098 as it is printed in handbooks, in dB about 1 kHz, each figure computed from the
stated time constants 3180, 318, 75 us (second column with 7950 us, amendment 4). That it falls 13.7 dB from
1 to 10 kHz is published on its own in texts on disc cutting and replay. The closed form is checked against a
ladder of first-order sections in complex numbers too, which shares no line with it.
"""

import math

import pytest

from meterlog.quantity.equalisers import CURVES, USUAL_HZ, response_db

PRINTED = {
    20: (19.27, 16.26),
    30: (18.59, 16.99),
    50: (16.95, 16.30),
    70: (15.28, 14.94),
    100: (13.09, 12.92),
    200: (8.22, 8.18),
    300: (5.48, 5.47),
    500: (2.65, 2.64),
    700: (1.23, 1.23),
    1000: (0.0, 0.0),
    2000: (-2.59, -2.59),
    3000: (-4.74, -4.74),
    5000: (-8.21, -8.21),
    7000: (-10.82, -10.81),
    10_000: (-13.73, -13.73),
    15_000: (-17.16, -17.16),
    20_000: (-19.62, -19.62),
}


@pytest.mark.parametrize("hertz", PRINTED)
def test_every_printed_value_is_ours_to_its_last_digit(hertz: int) -> None:
    replay, with_filter = PRINTED[hertz]
    assert response_db("riaa", hertz, 1000) == pytest.approx(replay, abs=0.00501)
    assert response_db("riaa-7950-us", hertz, 1000) == pytest.approx(with_filter, abs=0.00501)


def test_the_rows_of_the_table_are_the_rows_that_are_looked_at() -> None:
    assert tuple(PRINTED) == USUAL_HZ


def test_the_published_fall_from_1_to_10_khz() -> None:
    assert response_db("riaa", 10_000, 1000) == pytest.approx(-13.7, abs=0.05)


@pytest.mark.parametrize("hertz", [17.3, 212.2, 2122.1, 18_500.0])
def test_complex_sections_in_a_row_give_the_same(hertz: float) -> None:
    def gain(f: float) -> float:
        s = 2j * math.pi * f
        return abs((1 + s * 318e-6) / ((1 + s * 3180e-6) * (1 + s * 75e-6)))

    assert response_db("riaa", hertz, 1000) == pytest.approx(
        20 * math.log10(gain(hertz) / gain(1000)), abs=1e-9
    )


def test_the_corner_frequencies_are_the_published_ones() -> None:
    """50.05, 500.5 and 2122 Hz: 1 / (2 pi T), as every text on the curve gives them."""
    assert [round(1 / (math.tau * t), 1) for t in (3180e-6, 318e-6, 75e-6)] == [50.0, 500.5, 2122.1]


def test_a_response_about_another_frequency_is_a_difference_and_flat_is_flat() -> None:
    about_315 = response_db("riaa", 10_000, 315)
    assert about_315 == pytest.approx(response_db("riaa", 10_000, 1000) - response_db("riaa", 315, 1000))
    assert {response_db("flat", hertz, 1000) for hertz in USUAL_HZ} == {0.0}
    assert set(CURVES) == {"flat", "riaa", "riaa-7950-us"}
