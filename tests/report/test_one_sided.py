"""A window that reaches down to nothing has one limit on a scale in dB."""

from meterlog.quantity import DBU, parse_quantity, parse_span
from meterlog.report.words import _planned


def test_a_limit_that_has_no_number_in_db_is_left_out() -> None:
    most = parse_quantity("-68 dBu")
    span = parse_span(f"{most.base * 1000:.6f} mV")
    assert _planned(0.0, span, DBU) == ("", "up to -68 dBu")
    assert _planned(parse_quantity("+4 dBu").base, parse_span("0.1 dB"), DBU)[1] == "+3.90 to +4.10"
