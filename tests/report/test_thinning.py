"""Thinning hides nothing: a property of every run of readings, however long."""

from hypothesis import given
from hypothesis import strategies as st

from meterlog.report.thinning import Point, thin

levels = st.one_of(st.none(), st.floats(-100.0, 100.0))
runs = st.lists(st.tuples(st.floats(0.0, 2.0), levels), max_size=300)


def points_of(run: list[tuple[float, float | None]]) -> list[Point]:
    time_s, points = 0.0, []
    for step_s, level in run:
        time_s += step_s
        points.append(Point(time_s, level))
    return points


@given(runs, st.integers(1, 40))
def test_keeps_the_extremes_and_the_order_and_invents_nothing(
    run: list[tuple[float, float | None]], stretches: int
) -> None:
    points = points_of(run)
    duration_s = points[-1].time_s if points else 0.0
    kept = list(thin(points, duration_s, stretches))
    rest = iter(points)
    assert all(point in rest for point in kept), "each in its turn, none that was not there"
    shown = [point.shown for point in points if point.shown is not None]
    kept_shown = [point.shown for point in kept if point.shown is not None]
    if shown:
        assert (min(kept_shown), max(kept_shown)) == (min(shown), max(shown))
    assert any(p.shown is None for p in kept) == any(p.shown is None for p in points)
    assert len(kept) <= 4 * (stretches + 1)


def test_a_spike_of_one_reading_among_thousands_stays_as_tall_as_it_was() -> None:
    points = [Point(index / 10.0, 9.0 if index == 43_210 else 1.0) for index in range(100_000)]
    kept = list(thin(points, 10_000.0))
    assert len(kept) < 1300
    assert Point(4321.0, 9.0) in kept


def test_few_readings_are_all_kept() -> None:
    points = [Point(float(second), float(second)) for second in range(30)]
    assert list(thin(points, 30.0)) == points
