"""Is the meter good enough? Against the trade's figures for a ratio of four to one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy import Accuracy, Band, Capability, Conditions, InUse, Range, Specification, Statement
from meterlog.accuracy.fitness import Fit, Fitness, Task
from meterlog.reading import Coupling
from tests.accuracy.asked import asked, expanded, judged

NOW = Conditions()


def meter(accuracy: Accuracy | None = None, count: float = 1e-6, **more: object) -> InUse:
    """One range of 10 V, 20 Hz to 20 kHz; invented."""
    capability = Capability(
        function="voltage",
        coupling=Coupling.AC,
        ranges=(Range(10.0, count, 12.0),),
        bands=(Band(20.0, 20e3),),
        accuracies=(accuracy,) if accuracy else (),
    )
    fields = {"function": "voltage", "coupling": Coupling.AC} | more
    return InUse(meter="meter", specification=Specification("A meter", 0.2, (capability,)), **fields)  # type: ignore[arg-type]


def window_db(half_db: float, value: float = 1.0) -> float:
    """From limit to limit."""
    return value * (10 ** (half_db / 20) - 10 ** (-half_db / 20))


@pytest.mark.parametrize(("half_db", "per_cent"), [(0.1, 0.3), (0.25, 0.7), (0.5, 1.5)])
def test_what_a_window_in_decibels_asks_of_a_meter(half_db: float, per_cent: float) -> None:
    """Common practice with the 4:1 habit: +-0.1 dB asks for 0.3 %, +-0.25 dB for 0.7 %, +-0.5 dB for 1.5 %
    of expanded uncertainty, in round figures."""
    task = asked(width=window_db(half_db), value=1.0, frequency_hz=1000.0)
    need = judged(task, meter(Accuracy(reading=0.001)), NOW).need
    assert need is not None
    assert 100.0 * need == pytest.approx(per_cent, rel=0.05)
    for share, fit in ((0.98, Fit.ADEQUATE), (1.02, Fit.MARGINAL), (4.1, Fit.NOT_ADEQUATE)):
        stated = Accuracy(reading=share * need / 2.0 * 1.959964, statement=Statement.NORMAL_95)
        assert judged(task, meter(stated), NOW).fit is fit


def test_a_fall_of_one_decibel_with_a_meter_of_two_per_cent() -> None:
    """Two readings of one meter on one range: 2 % of gain falls out, and what is left is a few counts."""
    poor = Accuracy(reading=0.02, counts=3)
    task = asked(width=window_db(0.1), value=1.0, frequency_hz=1000.0)
    alone = judged(task, meter(poor, count=1e-4), NOW)
    against = judged(asked(task.width, 1.0, 1000.0, about=1.0), meter(poor, 1e-4), NOW)
    assert alone.fit is Fit.NOT_ADEQUATE
    assert against.fit is Fit.ADEQUATE
    assert against.uncertainty == pytest.approx(expanded(3e-4, 3e-4, counts=(1e-4, 1e-4)))


def found(task: Task, used: InUse) -> Fitness:
    return judged(task, used, NOW)


def test_a_window_under_two_counts() -> None:
    refused = found(asked(width=1.9e-3, value=1.0), meter(Accuracy(reading=1e-4), count=1e-3))
    assert (refused.fit, refused.why) == (Fit.NOT_ADEQUATE, "the window is under two counts")


def test_a_frequency_beyond_its_band() -> None:
    task = asked(width=1.0, value=1.0, frequency_hz=40e3)
    refused = found(task, meter(Accuracy(reading=1e-4)))
    assert (refused.fit, refused.why) == (Fit.NOT_ADEQUATE, "the frequency is outside its band")


def test_the_filter_of_the_bench_file_narrows_the_band() -> None:
    task = asked(width=1.0, value=1.0, frequency_hz=50.0)
    assert found(task, meter(Accuracy(reading=1e-4))).fit is Fit.ADEQUATE
    assert found(task, meter(Accuracy(reading=1e-4), lowest_hz=200.0)).fit is Fit.NOT_ADEQUATE


def test_a_level_that_it_does_not_show() -> None:
    assert found(asked(width=1.0, value=20.0), meter(Accuracy(reading=1e-4))).fit is Fit.NOT_ADEQUATE


def test_a_function_that_it_has_not() -> None:
    refused = found(asked(width=1.0, value=1.0), meter(coupling=Coupling.DC))
    assert (refused.fit, refused.why) == (Fit.NOT_ADEQUATE, "it measures no voltage dc")


def test_a_meter_of_which_nothing_is_stated() -> None:
    assert found(asked(width=1.0, value=1.0), meter()).fit is Fit.UNKNOWN


def test_long_after_its_calibration_the_row_for_the_longest_time_counts() -> None:
    rows = (Accuracy(reading=1e-5, days=1.0), Accuracy(reading=1e-4, days=90.0), Accuracy(reading=1e-3))
    capability = Capability("voltage", Coupling.DC, (Range(10.0, 1e-6, 12.0),), accuracies=rows)

    def row(days: float | None) -> Accuracy | None:
        return capability.accuracy_for(capability.ranges[0], Conditions(days_since_calibration=days))

    assert [row(days) for days in (0.5, 30.0, 200.0, 1000.0, None)] == [rows[0], rows[1], *[rows[2]] * 3]
    assert row(-94.0) is rows[2], "a day to come is a slip of the pen, and makes no meter better"


@given(st.floats(1e-4, 0.5), st.floats(1e-5, 0.1))
def test_a_narrower_window_is_never_easier(width: float, share: float) -> None:
    used = meter(Accuracy(reading=share))
    order = [Fit.NOT_ADEQUATE, Fit.MARGINAL, Fit.ADEQUATE]
    wide, narrow = (order.index(found(asked(width=w, value=1.0), used).fit) for w in (width, width / 2.0))
    assert narrow <= wide
