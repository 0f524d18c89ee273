"""Another meter at the same address after the daemon was away: it waits until somebody says it is meant."""

from pathlib import Path

import pytest
from sqlalchemy import Engine as Database

from meterlog.bench import LinkState, LinkStatus
from meterlog.daemon.sessions import Sessions
from meterlog.daemon.strangers import Strangers
from meterlog.procedure import ActionKind
from meterlog.reading import Identity
from meterlog.records import Instrument, load_session, replay
from tests.daemon.desk import BENCH, PROCEDURE, Desk, bench_in
from tests.daemon.test_resume import Open, database, desk_on, interrupted, resumed

__all__ = ["database", "desk_on"]

FIRST = Identity("ACME", "100", "1", "1.0", "ACME,100,1,1.0")
NEW_FIRMWARE = Identity("ACME", "100", "1", "1.1", "ACME,100,1,1.1")
OTHER = Identity("ACME", "100", "2", "1.0", "ACME,100,2,1.0")


def answers(desk: Desk, identity: Identity, meter: str = "bench meter") -> None:
    desk.runner.deliver(LinkStatus(meter, LinkState.CONNECTING, "", 0, identity))
    desk.barrier()


def interrupted_by(desk_on: Open, identity: Identity = FIRST) -> int:
    desk = desk_on()
    desk.runner.board.link(LinkStatus("bench meter", LinkState.CONNECTING, "", 0, identity))
    return interrupted(desk)


def do_now(desk: Desk) -> str:
    assert desk.runner.running is not None
    return desk.runner.running.view.guide.do_now


def test_a_swapped_meter_gives_no_value_until_it_is_meant(desk_on: Open, database: Database) -> None:
    number = interrupted_by(desk_on)
    with resumed(desk_on()) as second:
        answers(second, OTHER)
        assert '"ACME,100,2,1.0"' in do_now(second)
        assert '"ACME,100,1,1.0"' in do_now(second)
        assert [alarm["text"] for alarm in second.hub.of("alarm")] == [
            'Another meter answers: \'bench meter\' is "ACME,100,2,1.0", until now it was "ACME,100,1,1.0".'
        ]
        assert "2" in second.hub.lives[-1]["view"]["other_meters"]
        refused = second.runner.act(ActionKind.GO_ON)
        assert not refused.accepted
        assert "whether it is meant" in refused.message
        second.measure(3)
        assert not second.runner.act(ActionKind.OTHER_METER).accepted, "nobody has said why"
        assert second.runner.act(ActionKind.OTHER_METER, "the first is at calibration").accepted
        second.writer.flush()
        assert len(load_session(database, number).settled_values) == 1, "it read for 3 s in vain"
        second.press()
        second.measure(3)
        assert second.hub.lives[-1]["view"]["other_meters"] == ""
        second.press()
    record = load_session(database, number)
    assert len(record.settled_values) == 2
    (said,) = [act.text for act in record.actions if act.kind is ActionKind.OTHER_METER]
    assert said.endswith(": the first is at calibration")
    assert [one.serial_number for one in record.instruments] == ["1", "2"]
    assert replay(database, number).differences == ()


def test_it_is_asked_again_after_another_restart_and_not_where_the_first_is_back(
    desk_on: Open, database: Database
) -> None:
    number = interrupted_by(desk_on)
    for identity, asked in ((OTHER, True), (OTHER, True), (NEW_FIRMWARE, False), (FIRST, False)):
        with resumed(desk_on()) as again:
            answers(again, identity)
            assert ("Another meter answers" in do_now(again)) is asked
            again.writer.flush()
    assert {one.serial_number for one in load_session(database, number).instruments} == {"1"}


def test_once_meant_it_is_the_meter_of_the_session(desk_on: Open, database: Database) -> None:
    interrupted_by(desk_on)
    with resumed(desk_on()) as second:
        answers(second, OTHER)
        assert second.runner.act(ActionKind.OTHER_METER, "meant").accepted
        assert not second.runner.act(ActionKind.OTHER_METER, "meant").accepted, "there is none any more"
        second.writer.flush()
    with resumed(desk_on()) as third:
        answers(third, OTHER)
        assert "Another" not in do_now(third)
        third.writer.flush()
    with resumed(desk_on()) as fourth:
        answers(fourth, FIRST)
        assert "Another" in do_now(fourth)


def test_a_meter_that_the_procedure_does_not_use_is_nobodys_business(desk_on: Open) -> None:
    first = desk_on()
    first.runner.board.link(LinkStatus("spare meter", LinkState.CONNECTING, "", 0, FIRST))
    interrupted(first)
    with resumed(desk_on()) as second:
        answers(second, OTHER, "spare meter")
        assert "Another" not in do_now(second)


def test_a_session_set_aside_asks_when_it_is_gone_on_with(desk_on: Open, database: Database) -> None:
    desk = desk_on()
    with desk:
        answers(desk, FIRST)
        desk.to_level()
        desk.runner.act(ActionKind.SET_ASIDE)
        desk.writer.flush()
    again = desk_on()
    assert again.sessions is not None
    sessions = again.sessions
    with again:
        answers(again, OTHER)
        again.runner.begin(lambda: sessions.go_on_with(1))
        again.barrier()
        assert "Another meter answers" in do_now(again)


def refuses(desk: Desk, refused: Identity | None, meter: str = "bench meter") -> None:
    """Its link holds on to the first one."""
    desk.runner.deliver(LinkStatus(meter, LinkState.LOST, "another meter answers", 0, FIRST, refused))
    desk.barrier()


def with_links(desk: Desk, taken: list[str]) -> Desk:
    desk.runner._take_other = taken.append
    return desk


def test_one_that_a_link_refuses_is_read_once_it_is_meant(desk_on: Open) -> None:
    taken: list[str] = []
    with with_links(desk_on(), taken) as desk:
        answers(desk, FIRST)
        desk.to_level()
        refuses(desk, OTHER)
        assert '"ACME,100,2,1.0"' in do_now(desk)
        assert not desk.runner.act(ActionKind.OTHER_METER, "").accepted
        assert taken == []
        assert desk.runner.act(ActionKind.OTHER_METER, "the first is broken").accepted
        assert taken == ["bench meter"]
        answers(desk, OTHER)
        assert "Another" not in do_now(desk)


def test_one_that_is_pulled_again_is_asked_about_no_more(desk_on: Open) -> None:
    taken: list[str] = []
    with with_links(desk_on(), taken) as desk:
        answers(desk, FIRST)
        desk.to_level()
        refuses(desk, OTHER)
        refuses(desk, None)
        assert "Another" not in do_now(desk)
        assert not desk.runner.act(ActionKind.OTHER_METER, "meant").accepted
    assert taken == []


@pytest.mark.parametrize(("meter", "session"), [("spare meter", True), ("bench meter", False)])
def test_where_no_session_uses_it_another_one_is_read_at_once(
    desk_on: Open, meter: str, session: bool
) -> None:
    taken: list[str] = []
    with with_links(desk_on(), taken) as desk:
        answers(desk, FIRST, meter)
        if session:
            desk.to_level()
        refuses(desk, OTHER, meter)
        alarms = [alarm["text"] for alarm in desk.hub.of("alarm")]
    assert set(taken) == {meter}
    assert f'{meter!r} is "ACME,100,2,1.0" from now on' in alarms[0]


@pytest.mark.parametrize("end", [ActionKind.BREAK_OFF, ActionKind.SET_ASIDE])
def test_one_that_was_asked_about_is_read_when_the_session_is_over(desk_on: Open, end: ActionKind) -> None:
    taken: list[str] = []
    with with_links(desk_on(), taken) as desk:
        answers(desk, FIRST)
        desk.to_level()
        refuses(desk, OTHER)
        assert desk.runner.act(end, "it takes too long").accepted
        desk.wait(1.0)
        desk.barrier()
        alarms = [alarm["text"] for alarm in desk.hub.of("alarm")]
    assert taken, "between sessions another meter is read"
    assert "'bench meter' is \"ACME,100,2,1.0\" from now on" in alarms[-1]


def test_the_other_meters_error_of_gain_is_another_one(
    tmp_path: Path, desk_on: Open, database: Database
) -> None:
    """A step judged about one that the same meter took is free of its gain; about another's it is not."""
    bench = BENCH.replace('serial_number = "S-001"', 'specification = "handheld-6000"')
    text = PROCEDURE.replace('id = "level-again"', 'id = "level-again"\nreference = "level"\ntarget = "0 dB"')
    still = 'settle = "0.1 dB"\ndwell = "0.8 s"\n'
    text = text.replace(still, f'tolerance = "3 dB"\n{still}')
    text = text.replace('tolerance = "0.5 dB"\ntolerance = "3 dB"', 'tolerance = "3 dB"')

    def run(identity: Identity) -> float:
        first = desk_on()
        assert first.sessions is not None
        first.sessions = Sessions(database, first.writer, bench_in(tmp_path, bench), first.clock)
        with first:
            answers(first, FIRST)
            number = first.begin(text)
            first.wait(1.5)
            first.press()
            first.measure(3)
            first.writer.flush()
        second = desk_on()
        second.sessions = Sessions(database, second.writer, bench_in(tmp_path, bench), second.clock)
        with resumed(second):
            answers(second, identity)
            second.runner.act(ActionKind.OTHER_METER, "meant")
            second.press()
            second.measure(3)
            second.press()
        record = load_session(database, number)
        assert replay(database, number).differences == ()
        assert record.header.ended is not None
        return record.settled_values[1].expanded_uncertainty

    same, other = run(FIRST), run(OTHER)
    assert same < 0.03, "0.8 % and 5 counts, of which the share of the reading is common"
    assert other > 1.4 * same


def instrument(**fields: str) -> Instrument:
    said = {"meter": "m", "driver": "d", "text": "frames"} | fields
    return Instrument(**said, seen_time_ns=0, since_sequence=1)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("before", "now", "another"),
    [
        (instrument(), instrument(), False),
        (instrument(), instrument(serial_number="S-1"), False),  # somebody has written it into the bench file
        (instrument(serial_number="S-1"), instrument(serial_number="S-2"), True),
        (instrument(), instrument(text="other frames"), True),
        (instrument(), instrument(meter="renamed"), False),
        (instrument(model="B", text="B,1"), instrument(model="B", text="B,2"), False),
        (instrument(model="B", text="B"), instrument(model="C", text="C"), True),
    ],
)
def test_who_is_another(before: Instrument, now: Instrument, another: bool) -> None:
    strangers = Strangers()
    assert strangers.meet(before, ["output"]) is None
    assert (strangers.meet(now, ["output"]) is not None) is another
    assert strangers.hold("output") is another
    assert not strangers.hold("spare")


def test_a_channel_that_another_known_meter_takes_over_is_asked_about() -> None:
    """The bench file was edited: the channel is on a meter that the session knows from another channel."""
    strangers = Strangers()
    strangers.meet(instrument(text="one"), ["output"])
    strangers.meet(instrument(meter="n", text="two"), ["also"])
    found = strangers.meet(instrument(meter="n", text="two"), ["also", "output"])
    assert found is not None
    assert "until now it was" in str(found)
