"""Readings that wait in a meter's memory: none is lost, none comes twice, each has an honest date."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Indication, State
from meterlog.testing import FakeClock
from meterlog_drivers.scpi.dating import Dating
from tests.drivers.fake_memory import FakeMemory
from tests.drivers.scpi.buffered_kit import connected, polled, remarks, values

MS = 1_000_000


@pytest.mark.parametrize("interval_s", [0.00005, 0.001, 0.02, 0.3])
def test_every_reading_comes_once_and_in_order(interval_s: float) -> None:
    clock = FakeClock()
    fake = FakeMemory(clock, interval_s)
    meter, _ = connected(fake, clock)
    found = polled(meter, clock, 1.0 + 5 * interval_s)
    assert values(found) == list(range(1, len(found) + 1))
    assert len(found) >= len(fake.began_ns) - 1 - 0.2 / interval_s
    assert remarks(meter) == []


@given(interval_s=st.floats(0.002, 0.4), late_s=st.lists(st.floats(0.0, 0.6), min_size=1, max_size=12))
def test_dates_are_near_the_truth_and_never_beyond_what_is_certain(
    interval_s: float, late_s: list[float]
) -> None:
    """Whoever polls is busy with something else now and then, as long as late_s says."""
    clock = FakeClock()
    fake = FakeMemory(clock, interval_s)
    meter, _ = connected(fake, clock)
    found: list[Indication] = []
    for pause_s in late_s:
        found += polled(meter, clock, 0.3)
        clock.pass_s(pause_s)
    found += polled(meter, clock, 0.1)
    dates = [one.monotonic_ns for one in found]
    assert dates == sorted(dates)
    worst_ns = (max(late_s) + 0.35 + 2.0 * interval_s) * 1e9
    for date_ns, began_ns in zip(dates, fake.began_ns, strict=False):
        assert fake.began_ns[0] - 1 <= date_ns
        assert abs(date_ns - began_ns) <= worst_ns


def test_the_pace_is_learnt_and_the_dates_follow_it() -> None:
    """After ten seconds no date is wrong by more than two readings."""
    clock = FakeClock()
    fake = FakeMemory(clock, 0.02)
    meter, _ = connected(fake, clock)
    found = polled(meter, clock, 10.0)
    assert meter.period_s == pytest.approx(0.02, rel=0.05)
    wrong_s = [(one.monotonic_ns - fake.began_ns[n]) / 1e9 for n, one in enumerate(found)][100:]
    assert max(map(abs, wrong_s)) <= 0.04


@pytest.mark.parametrize(("timed", "date_s"), [(False, 5.0), (True, 7.0)])
def test_a_reading_that_took_long_is_dated_by_its_beginning(timed: bool, date_s: float) -> None:
    """20 ms each for 5 s, then a change of range of 2 s: that reading had begun when the last was fetched.
    Where a timer may have made the meter wait, it counts as one that took no longer than the others."""
    dating = Dating(0.02, timed=timed)
    dating.started(0)
    for tenth in range(1, 51):
        dating.of(5, tenth * 100 * MS, tenth * 100 * MS + 2 * MS, emptied=True)
    for twentieth in range(101, 141):
        dating.of(0, twentieth * 50 * MS, twentieth * 50 * MS, emptied=True)
    (date_ns,) = dating.of(1, 7050 * MS, 7052 * MS, emptied=True)
    assert date_ns / 1e9 == pytest.approx(date_s, abs=0.1)
    assert date_ns <= 5000 * MS or timed


def test_one_question_in_twenty_a_second_is_enough() -> None:
    clock = FakeClock()
    fake = FakeMemory(clock, 0.001)
    meter, _ = connected(fake, clock)
    fake.heard.clear()
    polled(meter, clock, 4.0)
    assert len([one for one in fake.heard if one.startswith("R?")]) <= 81
    assert len(fake.heard) <= 162, "one more for the front panel"


def test_a_meter_that_is_silent_where_nothing_is_there() -> None:
    """-230 and no answer: a counter's manual."""
    clock = FakeClock()
    fake = FakeMemory(clock, 1.0, empty=None)
    fake.untold = ["DATA:POIN?"]
    meter, _ = connected(fake, clock, "memory-silent")
    found = polled(meter, clock, 7.5)
    assert values(found) == list(range(1, len(found) + 1))
    assert len(found) >= 5
    assert remarks(meter) == []
    assert fake.heard.count("DATA:POIN?") == 1


def test_it_is_asked_for_readings_only_if_some_are_there() -> None:
    """So that nobody waits for an answer that does not come."""
    clock = FakeClock()
    fake = FakeMemory(clock, 0.2, empty=None)
    meter, _ = connected(fake, clock, "memory-silent")
    found = polled(meter, clock, 6.0)
    asked = [one for one in fake.heard if one.startswith("R?")]
    assert values(found) == list(range(1, len(found) + 1))
    assert len(found) >= 28
    assert len(asked) <= len(found), "each of them was answered"
    late_s = [(shown.monotonic_ns - began) / 1e9 for shown, began in zip(found, fake.began_ns, strict=False)]
    assert max(map(abs, late_s)) < 0.2
    assert remarks(meter) == []


def test_a_meter_that_refuses_to_give_fewer_than_it_is_asked_for() -> None:
    """DATA:REM? n is an error if fewer are there: manuals of two instruments."""
    clock = FakeClock()
    fake = FakeMemory(clock, 0.03, holds=512, bit=12)
    meter, _ = connected(fake, clock, "remove-band")
    found = polled(meter, clock, 5.0)
    assert values(found) == list(range(1, len(found) + 1))
    assert len(found) >= 160
    assert not [command for command in fake.heard if command.startswith("R?")]
    assert fake.errors == []


COUNTED = """
like = "memory-band"
[memory]
arm = ["SAMP:COUN {count};:INIT"]
count = 25
"""


@pytest.fixture
def counted(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("dialect") / "counted.toml"
    path.write_text(COUNTED)
    return str(path)


def test_a_meter_that_stops_at_its_count_is_started_again_at_once(counted: str) -> None:
    clock = FakeClock()
    fake = FakeMemory(clock, 0.02)
    meter, _ = connected(fake, clock, counted)
    found = polled(meter, clock, 10.0)
    assert values(found) == list(range(1, len(found) + 1))
    assert fake.heard.count("SAMP:COUN 25;:INIT") >= 17, "no more than a tenth of a second between two starts"
    dates = [one.monotonic_ns for one in found]
    assert dates == sorted(dates)


def test_the_timer_of_the_meter_is_set() -> None:
    clock = FakeClock()
    fake = FakeMemory(clock, 0.01)
    connected(fake, clock, options={"buffered": True, "interval": 0.01})
    assert "SAMP:TIM 0.01" in fake.heard


def test_closing_stops_the_meter() -> None:
    clock = FakeClock()
    fake = FakeMemory(clock)
    meter, _ = connected(fake, clock)
    meter.close()
    assert fake.heard[-2:] == ["ABOR", "SYST:ERR?"]


def test_a_sentinel_in_a_block_is_a_state() -> None:
    clock = FakeClock()
    fake = FakeMemory(clock)
    meter, wire = connected(fake, clock)
    block = b"#247+1.00000000E+00,+9.90000000E+37,-2.00000000E+00\n"
    wire._far_end = lambda data: [(0.0, block)] if data.startswith(b"R?") else fake(data)
    for _ in range(2):  # the second one goes the short way
        clock.pass_s(0.1)
        found = meter.poll(1.0)
        assert [one.state for one in found] == [State.OK, State.OVERLOAD, State.OK]
        assert values(found) == [1.0, None, -2.0]


@pytest.mark.parametrize(
    ("layout", "block", "expected"),
    [
        ("ascii", b"#231-4.98748741E-01,-4.35163427E-01\n", [-0.498748741, -0.435163427]),
        ("ascii", b"#226+2.98999E+00,+2.99030E+00\n", [2.98999, 2.9903]),
        (
            "real64",
            bytes.fromhex("23323136 3FF00A0D0000000A BFD0000000000000 0A"),
            [1.0024538040161155, -0.25],
        ),
        ("real32-swapped", bytes.fromhex("233138 0000003F 000000C0 0A"), [0.5, -2.0]),
    ],
)
def test_blocks_of_every_kind(layout: str, block: bytes, expected: list[float]) -> None:
    """The head of row sr-19 of the vectors; sr-22, printed in a manual with a count that is one too high;
    sr-24; sr-25 with its bytes the other way round."""
    clock = FakeClock()
    fake = FakeMemory(clock)
    meter, wire = connected(fake, clock, options={"buffered": True, "format": layout})
    wire._far_end = lambda data: [(0.01, block)] if data.startswith(b"R?") else fake(data)
    assert values(polled(meter, clock, 1.0))[:2] == expected
