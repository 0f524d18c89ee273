"""The learnt period: the median of gaps."""

from meterlog_drivers.period import Period


def seen(*dates_s: float) -> float:
    period = Period(expected_s=0.4)
    return [period.after(round(at_s * 1e9)) for at_s in dates_s][-1]


def test_one_date_says_nothing() -> None:
    assert seen(5.0) == 0.4


def test_an_outage_does_not_count() -> None:
    assert seen(0, 1, 2, 3, 60, 61, 62) == 1.0


def test_frames_bundled_by_an_adapter_do_not_count() -> None:
    assert seen(0, 0.5, 0.5, 0.51, 1.01, 1.51) == 0.5


def test_a_change_of_speed_is_followed() -> None:
    assert seen(0, 1, 2, 3, 4, 4.25, 4.5, 4.75, 5) == 0.25
