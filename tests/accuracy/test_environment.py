"""Temperature and humidity as people write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy import Environment, parse_environment
from meterlog.accuracy.environment import NOT_KNOWN

TEMPERATURES = st.none() | st.integers(-200, 600).map(lambda tenths: tenths / 10)
HUMIDITIES = st.none() | st.integers(0, 1000).map(lambda tenths: tenths / 10)


@given(TEMPERATURES, HUMIDITIES)
def test_what_is_kept_is_read_back(temperature_c: float | None, humidity: float | None) -> None:
    told = Environment(temperature_c, humidity, "channel room (back)" if temperature_c else "")
    assert parse_environment(told.text) == (told or Environment())


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("23 degC, 45 % RH", (23.0, 45.0)),
        (" 23.5°C ,45%", (23.5, 45.0)),
        ("45 %RH", (None, 45.0)),
        ("-3 C", (-3.0, None)),
        (NOT_KNOWN, (None, None)),
    ],
)
def test_ways_to_write_it(text: str, told: tuple[float | None, float | None]) -> None:
    found = parse_environment(text)
    assert (found.temperature_c, found.humidity_percent) == told


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "write them such as 23 degC, 45 % RH"),
        ("warm", "'warm' is no temperature"),
        ("23", "write them such as"),
        ("23 degC, 24 degC", "write them such as"),
        ("73 degF", "write them such as"),
        ("230 degC", "230 degC is no temperature of a bench; write -20 to 60"),
        ("145 %", "145 % is no relative humidity; write 0 to 100"),
    ],
)
def test_what_is_no_place_is_refused(text: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        parse_environment(text)


def test_what_is_not_told_anew_stays() -> None:
    first = Environment(23.0, 45.0)
    assert first.then(Environment(24.0)) == Environment(24.0, 45.0)
    assert first.then(Environment(None, 50.0)) == Environment(23.0, 50.0)
    assert not first.then(Environment()), "said to be not known any more"
