"""What holds for every number."""

import math
from contextlib import suppress

from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.quantity import (
    DBU,
    DBV,
    Quantity,
    QuantityError,
    Scale,
    Span,
    Unit,
    base_scale,
    dbfs,
    dbm,
    difference_db,
    parse_duration_s,
    parse_quantity,
    parse_scale,
    parse_span,
    ratio_from_db,
    readable_scale,
    show_number,
    vu,
)

SYMBOLS = (
    "V",
    "mV",
    "uV",
    "nA",
    "mA",
    "A",
    "ohm",
    "kohm",
    "Mohm",
    "Hz",
    "kHz",
    "MHz",
    "pF",
    "uH",
    "W",
    "ms",
    "%",
    "cent",
    "ppm",
    "ppb",
)
LINEAR = [parse_scale(symbol) for symbol in SYMBOLS]
LEVELS = [
    DBU,
    DBV,
    dbm(600.0),
    dbm(75.0),
    vu(Quantity(1.2276529879838800, DBU)),
    dbfs(Quantity(8.0, base_scale(Unit.VOLT))),
]

whole = st.integers(-(10**13), 10**13)
places = st.integers(0, 10)
magnitudes = st.floats(1e-12, 1e12)
values = magnitudes | magnitudes.map(lambda size: -size) | st.just(0.0)
kinds = st.sampled_from(["dB", "%", *(unit for unit in Unit if unit not in (Unit.NONE, Unit.PERCENT))])
spans = st.builds(Span, st.floats(1e-6, 100.0), kinds)
without_deadline = settings(deadline=None)


@without_deadline
@given(whole, places, st.sampled_from(LINEAR))
def test_linear_text_comes_back_the_same(digits: int, decimals: int, scale: Scale) -> None:
    quantity = parse_quantity(f"{digits / 10**decimals:.{decimals}f} {scale.symbol}")
    assert parse_quantity(str(quantity)) == quantity


@without_deadline
@given(st.integers(-200 * 10**10, 200 * 10**10), places, st.sampled_from(LEVELS))
def test_level_text_comes_back_the_same(digits: int, decimals: int, scale: Scale) -> None:
    level_db = max(-300.0, min(300.0, digits / 10**decimals))
    quantity = parse_quantity(f"{level_db:.{decimals}f} {scale.symbol}{scale.bracket}")
    assert parse_quantity(str(quantity)) == quantity
    assert str(parse_quantity(str(quantity))) == str(quantity)


@without_deadline
@given(magnitudes, st.sampled_from([*LINEAR, *LEVELS]))
def test_a_scale_goes_both_ways(base: float, scale: Scale) -> None:
    assert math.isclose(scale.to_base(scale.from_base(base)), base, rel_tol=1e-13)


@without_deadline
@given(values, st.sampled_from(LEVELS))
def test_nothing_and_less_has_no_level(base: float, scale: Scale) -> None:
    assert (scale.from_base(base) == -math.inf) == (base <= 0.0)


@without_deadline
@given(magnitudes, magnitudes)
def test_differences_and_ratios_are_inverse(a: float, b: float) -> None:
    assert math.isclose(b * ratio_from_db(difference_db(a, b)), a, rel_tol=1e-12)
    assert math.isclose(difference_db(a, b), -difference_db(b, a), abs_tol=1e-12)


@without_deadline
@given(spans, values)
def test_low_and_high_enclose_the_value(span: Span, value: float) -> None:
    assert span.low(value) <= value <= span.high(value)
    assert span.high(value) == -span.low(-value)


@without_deadline
@given(spans, values)
def test_half_width_is_the_smaller_side(span: Span, value: float) -> None:
    smaller = min(value - span.low(value), span.high(value) - value)
    assert span.half_width(value) >= 0.0
    assert math.isclose(span.half_width(value), smaller, rel_tol=1e-9, abs_tol=8.0 * math.ulp(value))


@without_deadline
@given(spans, values)
def test_edges_are_inside_and_what_is_beyond_is_not(span: Span, target: float) -> None:
    width = span.half_width(target)
    assert span.contains(target, target)
    assert span.contains(span.low(target), target)
    assert span.contains(span.high(target), target)
    beyond = max(1e-6 * width, 100.0 * math.ulp(abs(target) + width), 1e-300)
    assert not span.contains(span.low(target) - beyond, target)
    assert not span.contains(span.high(target) + beyond * 10.0 ** (span.amount / 20.0), target)


@without_deadline
@given(spans, magnitudes)
def test_an_edge_deviates_by_the_amount(span: Span, target: float) -> None:
    shown = span.shown_scale.from_base(span.amount)
    rounding = 1e-9 * shown + 4.0 * span.shown_scale.from_base(math.ulp(target))
    if span.kind in ("dB", "%"):
        rounding = 1e-9 * shown + 1e-12
    assert math.isclose(span.deviation(span.high(target), target), shown, abs_tol=rounding)
    assert math.isclose(
        span.deviation(span.low(target), target), -shown, abs_tol=max(rounding, 1e-11 * shown)
    )


@without_deadline
@given(spans, magnitudes, st.floats(0.1, 2.0))
def test_a_larger_span_holds_the_smaller(span: Span, target: float, factor: float) -> None:
    small, large = sorted((span, span.scaled(factor)), key=lambda each: each.amount)
    assert large.low(target) <= small.low(target)
    assert small.high(target) <= large.high(target)


@without_deadline
@given(st.integers(1, 10**9), st.integers(0, 6), st.sampled_from(["dB", *SYMBOLS]))
def test_span_text_comes_back_the_same(digits: int, decimals: int, symbol: str) -> None:
    amount = min(999.0, digits / 10**decimals)
    span = parse_span(f"{amount:.{max(decimals, 1)}f} {symbol}")
    assert parse_span(str(span)) == span
    assert span.shown_unit == symbol


@without_deadline
@given(values, st.sampled_from([*LINEAR, *LEVELS]), st.sampled_from([0.0, 1e-6, 1e-3, 0.1, 10.0]))
def test_shown_numbers_have_no_negative_nothing(base: float, scale: Scale, resolution: float) -> None:
    number = show_number(base, scale, resolution)
    assert not (number.startswith("-") and float(number) == 0.0)


@without_deadline
@given(values, st.sampled_from(LINEAR), st.integers(-6, 1))
def test_shown_numbers_are_within_half_a_count(base: float, scale: Scale, power: int) -> None:
    count = 10.0**power * scale.factor
    shown = scale.to_base(float(show_number(base, scale, count)))
    assert abs(shown - base) <= max(count, scale.factor) / 2 * (1 + 1e-9) + 4.0 * math.ulp(base)


@without_deadline
@given(st.floats(1e-11, 1e12), st.sampled_from([Unit.VOLT, Unit.OHM, Unit.HERTZ, Unit.FARAD]))
def test_readable_scale_leaves_one_to_three_digits(base: float, unit: Unit) -> None:
    shown = readable_scale(base, unit).from_base(base)
    assert 1.0 - 1e-9 <= shown < 1000.0 or base >= 1e12


NEAR_MISS = r"[-+±]?[0-9.,_ eE]{1,6} ?[dBumkVUFSohm%]{0,5}( ?\([0-9 =+dBuVU]{0,14}\))?"


@without_deadline
@given(st.text() | st.from_regex(NEAR_MISS, fullmatch=True))
def test_any_text_is_read_or_refused(text: str) -> None:
    for parse in (parse_quantity, parse_span, parse_duration_s, parse_scale):
        with suppress(QuantityError):
            assert parse(text) is not None
