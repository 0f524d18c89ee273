"""What a link says of itself, and how often."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.bench import LinkState
from meterlog.bench.status import SILENT, UNREAD, Standing
from meterlog.reading import Identity
from meterlog.testing import FakeClock, Witness

WHO = Identity(text="A")


def standing() -> tuple[Standing, FakeClock, Witness]:
    clock, witness = FakeClock(), Witness()
    return Standing("meter", clock, witness.on_state), clock, witness


def test_a_state_keeps_its_beginning_while_its_text_changes() -> None:
    one, clock, witness = standing()
    one.lost("absent")
    began_ns = clock.utc_ns()
    clock.pass_s(3.0)
    one.lost("in use")
    assert [(status.text, status.since_ns) for status in witness.statuses] == [
        ("absent", began_ns),
        ("in use", began_ns),
    ]


def test_who_answers_is_told_as_soon_as_it_is_known() -> None:
    one, _, witness = standing()
    one.lost("absent")
    one.connected(WHO)
    assert (witness.statuses[-1].identity, witness.statuses[-1].state) == (WHO, LinkState.CONNECTING)


def test_it_stays_lost_over_attempts_until_a_reading_comes() -> None:
    one, _, witness = standing()
    one.connected(WHO)
    one.live("")
    one.lost("pulled")
    one.connected(WHO)
    one.judge(0.0)
    assert one.status.state is LinkState.LOST
    one.live("")
    assert witness.states == [LinkState.CONNECTING, LinkState.LIVE, LinkState.LOST, LinkState.LIVE]


def test_nothing_is_stale_before_it_is_connected() -> None:
    one, clock, _ = standing()
    clock.pass_s(100.0)
    one.judge(2.0)
    assert one.status.state is LinkState.CONNECTING


def test_what_is_counted_is_in_the_status_and_in_what_is_told() -> None:
    one, _, witness = standing()
    one.counts.bytes_received += 14
    one.counts.readings += 2
    one.counts.unfitting += 1
    one.live("")
    one.counts.readings += 1
    told, now = witness.statuses[-1], one.status
    assert (told.bytes_received, told.readings, told.unfitting) == (14, 2, 1)
    assert (now.bytes_received, now.readings, now.unfitting) == (14, 3, 1)


ACTS: list[Callable[[Standing], None]] = [
    lambda one: one.connected(WHO),
    lambda one: one.live(""),
    lambda one: one.live("shows ohm"),
    lambda one: one.lost("pulled"),
    lambda one: one.judge(2.0),
]


@given(st.lists(st.tuples(st.sampled_from(ACTS), st.floats(0.0, 5.0))))
def test_nothing_is_said_twice_and_live_is_never_older_than_its_limit(
    acts: list[tuple[Callable[[Standing], None], float]],
) -> None:
    one, clock, witness = standing()
    for act, pause_s in acts:
        clock.pass_s(pause_s)
        act(one)
        one.judge(2.0)
        assert one.status.state is not LinkState.LIVE or one.silent_s <= 2.0
    said = [(status.state, status.text, status.identity) for status in witness.statuses]
    assert all(now != then for now, then in zip(said[1:], said, strict=False))


def test_silence_and_bytes_that_are_no_reading_are_told_apart() -> None:
    one, clock, witness = standing()
    one.connected(WHO)
    one.counts.bytes_received += 100
    one.live("")
    clock.pass_s(3.0)
    one.judge(2.0)
    assert witness.statuses[-1].text == SILENT
    one.counts.bytes_received += 40
    one.judge(2.0)
    assert witness.statuses[-1].text == UNREAD
    assert witness.statuses[-1].state is LinkState.STALE


def test_the_tail_of_a_frame_is_no_sign_that_a_meter_still_sends() -> None:
    one, clock, witness = standing()
    one.connected(WHO)
    one.counts.bytes_received += 18
    clock.pass_s(3.0)
    one.judge(2.0)
    assert witness.statuses[-1].text == SILENT


def test_what_comes_again_and_again_does_not_fill_the_log(caplog: pytest.LogCaptureFixture) -> None:
    """A meter that comes and goes each 0.2 s, and two complaints that take turns, for two minutes."""
    one, clock, witness = standing()
    with caplog.at_level("INFO", logger="meterlog.bench.status"):
        for turn in range(600):
            one.connected(WHO)
            one.live("")
            one.remark(f"error {turn % 2}")
            one.lost("pulled")
            clock.pass_s(0.2)
    assert len(caplog.records) <= 2 * 4
    assert {record.getMessage() for record in caplog.records} == {
        "meter: live ",
        "meter: lost pulled",
        "meter says: error 0",
        "meter says: error 1",
    }
    assert (one.status.remarks, len(witness.statuses)) == (600, 1801), "who looks is told each time"


def test_texts_that_are_always_new_fill_the_log_no_faster(caplog: pytest.LogCaptureFixture) -> None:
    one, clock, _ = standing()
    with caplog.at_level("INFO", logger="meterlog.bench.status"):
        for number in range(10_000):
            one.remark(f"error {number}")
        assert len(caplog.records) == 32
        clock.pass_s(60.0)
        one.remark("error 10000")
    assert caplog.records[-1].getMessage() == "meter says: error 10000"
    assert one.status.remarks == 10_001
