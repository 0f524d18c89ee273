"""One check of a meter. E_n by its definition, ISO/IEC 17043:2010 B.3.1.3 and ISO 13528; numbers made up."""

import math
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy import Verdict
from meterlog.accuracy.drift import Check


def check(**changed: Any) -> Check:
    """10 V known to 0.3 mV, shown to 0.4 mV: the error is known to 0.5 mV."""
    fields = {"reference": 10.0, "reference_uncertainty": 0.3e-3, "indicated": 10.0002}
    fields |= {"indicated_uncertainty": 0.4e-3, "full_scale": 20.0} | changed
    return Check(function="dc volts", day=date(2024, 5, 1), **fields)


def test_error_and_normalized_error() -> None:
    one = check()
    assert one.error == pytest.approx(0.2e-3)
    assert one.error_uncertainty == pytest.approx(0.5e-3)
    assert one.normalized_error == pytest.approx(0.4)
    assert one.explained


@pytest.mark.parametrize(("indicated", "explained"), [(9.9995, True), (10.0005, True), (9.9994, False)])
def test_beyond_one_the_uncertainties_do_not_explain_it(indicated: float, explained: bool) -> None:
    assert check(indicated=indicated).explained is explained


@pytest.mark.parametrize(("allowed", "verdict"), [(0.2e-3, Verdict.PASS), (0.19e-3, Verdict.FAIL)])
def test_the_allowed_error(allowed: float, verdict: Verdict) -> None:
    assert check().within(allowed) is verdict
    assert check(indicated=9.9998).within(allowed) is verdict


@pytest.mark.parametrize(
    "wrong",
    [
        {"reference": math.nan},
        {"indicated": math.inf},
        {"reference_uncertainty": -1e-3},
        {"reference_uncertainty": 0.0, "indicated_uncertainty": 0.0},
    ],
)
def test_what_is_no_check(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"uncertainty|numbers"):
        check(**wrong)


@pytest.mark.parametrize("allowed", [-1.0, math.nan])
def test_what_is_no_allowed_error(allowed: float) -> None:
    with pytest.raises(ValueError, match="allowed error"):
        check().within(allowed)


values = st.floats(-100.0, 100.0)
uncertainties = st.floats(0.01, 10.0)


@given(values, values, uncertainties, uncertainties, st.sampled_from([1e-6, 1e3, -1.0]))
def test_the_unit_does_not_matter(x: float, ref: float, u_x: float, u_ref: float, factor: float) -> None:
    plain = check(reference=ref, indicated=x, reference_uncertainty=u_ref, indicated_uncertainty=u_x)
    scaled = check(
        reference=ref * factor,
        indicated=x * factor,
        reference_uncertainty=u_ref * abs(factor),
        indicated_uncertainty=u_x * abs(factor),
    )
    expected = math.copysign(plain.normalized_error, plain.normalized_error * factor)
    assert scaled.normalized_error == pytest.approx(expected, rel=1e-9, abs=1e-12)


@given(values, values, uncertainties, uncertainties)
def test_reference_and_meter_exchanged(x: float, ref: float, u_x: float, u_ref: float) -> None:
    one = check(reference=ref, indicated=x, reference_uncertainty=u_ref, indicated_uncertainty=u_x)
    other = check(reference=x, indicated=ref, reference_uncertainty=u_x, indicated_uncertainty=u_ref)
    assert one.normalized_error == pytest.approx(-other.normalized_error)
