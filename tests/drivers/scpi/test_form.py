"""The learnt form of a meter's readings."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Garbled
from meterlog_drivers.scpi.answers import parse_elements
from meterlog_drivers.scpi.form import OwnForm, full_nr3_length


def check(form: OwnForm, text: str) -> None:
    for element in parse_elements(text.encode()):
        form.check(element)


@given(st.floats(min_value=-1e9, max_value=1e9), st.integers(1, 12))
def test_no_tail_of_a_full_nr3_is_one(value: float, digits: int) -> None:
    text = f"{value:+.{digits}E}"
    for start in range(1, len(text)):
        try:
            (element,) = parse_elements(text[start:].encode())
        except Garbled:
            continue
        assert full_nr3_length(element) is None


def taken(form: OwnForm, text: str) -> float | None:
    """The value that would become a reading; None if it is refused or a state."""
    try:
        check(form, text)
    except Garbled:
        return None
    return parse_elements(text.encode())[0].value


@given(st.floats(min_value=-1e9, max_value=1e9), st.integers(0, 14), st.booleans())
def test_one_byte_lost_or_doubled_makes_no_reading(value: float, at: int, doubled: bool) -> None:
    text = f"{value:+.8E}"
    form = OwnForm()
    assert taken(form, text) == float(text)
    assert taken(form, text[:at] + (text[at] * 2 if doubled else "") + text[at + 1 :]) is None


def test_a_new_length_counts_from_its_second_coming() -> None:
    form = OwnForm()
    check(form, "+1.23E+00")
    with pytest.raises(Garbled, match="bytes lost"):
        check(form, "+1.234E-01")
    check(form, "+1.234E-01")
    check(form, "+1.23E+00")


def test_another_form_never_counts() -> None:
    form = OwnForm()
    check(form, "-1.2345E+01")
    for _ in range(3):
        with pytest.raises(Garbled):
            check(form, "345")


def test_a_meter_without_a_form_of_its_own_may_send_any_number() -> None:
    form = OwnForm()
    for text in ("12.5", "+1.5E+00", "7", "-0.25"):
        check(form, text)


def test_sentinels_and_units_do_not_count() -> None:
    """+9.9E37 is printed in a manual, the line with units in another (rows sr-08 and sr-18)."""
    form = OwnForm()
    check(form, "+9.9E37")
    check(form, "+1.23456789E-03VDC")
    check(form, "+1.23456789E-03OHM4W")
    check(form, "+9.9E37")
