"""Blocks sent twice are one reading. That chips do so: data sheet ES51985, page 12. The times are made up."""

from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Indication, Settings
from meterlog.testing import FakeClock, FakeWire
from meterlog_drivers.handheld.repeats import REPEAT_S, Repeats
from tests.drivers.handheld.kinds import DRIVERS, decode, frame

BLOCK = {"es519-11": "es11-01", "bin11": "b11-01"}


def at(level: int, time_s: float) -> Indication:
    """A block of es519-11 in its 4 V range."""
    digits = bytes(0x30 + int(digit) for digit in f"{level:04d}")
    (shown,) = decode("es519-11", b"\x31" + digits + b"\x3b\x30\x30\x3a\r\n")
    return Indication(
        **{name: getattr(shown, name) for name in ("value", "unit", "state", "raw")},
        monotonic_ns=round(time_s * 1e9),
    )


def sent(levels: list[int], conversion_s: float, spacing_s: float) -> list[Indication]:
    """Each level twice, the second block `spacing_s` after the first."""
    return [
        at(level, number * conversion_s + half * spacing_s)
        for number, level in enumerate(levels)
        for half in (0, 1)
    ]


def counts(found: list[Indication]) -> list[int]:
    return [round((shown.value or 0.0) * 1000) for shown in found]


@given(
    levels=st.lists(st.integers(0, 3), min_size=1, max_size=12),
    conversion_s=st.floats(0.33, 0.55),
    evenly=st.booleans(),
)
def test_each_pair_is_one_reading_even_where_the_level_stands_still(
    levels: list[int], conversion_s: float, evenly: bool
) -> None:
    blocks = sent(levels, conversion_s, conversion_s / 2 if evenly else 0.046)
    assert counts(Repeats(REPEAT_S).without(blocks)) == levels


@given(
    levels=st.lists(st.integers(0, 3), min_size=2, max_size=12), lost=st.sets(st.integers(0, 23), max_size=4)
)
def test_lost_blocks_cost_a_conversion_only_if_both_are_lost(levels: list[int], lost: set[int]) -> None:
    blocks = [one for place, one in enumerate(sent(levels, 0.4, 0.046)) if place not in lost]
    left = [level for place, level in enumerate(levels) if not {2 * place, 2 * place + 1} <= lost]
    assert counts(Repeats(REPEAT_S).without(blocks)) == left


@given(levels=st.lists(st.integers(0, 3), max_size=12))
def test_a_chip_that_sends_once_loses_nothing(levels: list[int]) -> None:
    blocks = [at(level, 0.33 * number) for number, level in enumerate(levels)]
    assert counts(Repeats(REPEAT_S).without(blocks)) == levels


def test_the_meters_that_send_twice_give_each_reading_once() -> None:
    for name, row in BLOCK.items():
        clock = FakeClock()
        wire = FakeWire(clock)
        wire.send([(0.3 if number % 2 else 0.046, frame(row)) for number in range(1, 21)])
        meter = DRIVERS[name].connect(wire, Settings(), clock)
        found = [shown for _ in range(40) for shown in meter.poll(0.25)]
        assert len(found) == 10, name
        assert 0.3 < meter.period_s < 0.4, "the period is that of the conversions"
