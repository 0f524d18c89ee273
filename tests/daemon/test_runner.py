"""The runner: one order, stored before announced, nothing kept that did not count."""

import json
from pathlib import Path

import pytest

from meterlog.bench import slept_ns
from meterlog.daemon.errors import Refusal
from meterlog.daemon.hub import Hub
from meterlog.daemon.sleep import Sleep
from meterlog.procedure import Acted, ActionKind, Engine, Measured, Outcome, Ticked
from meterlog.records import RecordsError
from tests.daemon.desk import NS, PLUS_4_DBU, Desk, MemoryWriter, reading, wait_until

KINDS = ActionKind


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path)


def actions(desk: Desk) -> list[Acted]:
    return [event for event in desk.writer.events if isinstance(event, Acted)]


def test_a_value_is_announced_with_its_text_and_verdict_once_it_is_stored(desk: Desk) -> None:
    with desk:
        desk.to_level()
        desk.measure(3)
    (stored,) = desk.hub.of("stored")
    # 1.2277 V is 20 lg(1.2277 / sqrt(0.6)) = +4.00 dBu (0 dBu as in ITU-R V.574)
    assert stored["settled"]["text"].startswith("+4.00")
    assert stored["settled"]["text"].endswith(" dBu")
    assert stored["settled"]["verdict"] == "pass"
    assert [outcome["step"] for outcome in desk.hub.of("step-ended")] == ["warm-up", "level"]


def test_nothing_is_announced_before_the_commit_has_returned(desk: Desk) -> None:
    with desk:
        desk.to_level()
        desk.writer.gate.clear()
        desk.writer.reached.clear()
        for _ in range(20):
            desk.clock.now_ns += NS // 5
            desk.runner.deliver(reading(desk.clock.now_ns))
        assert desk.writer.reached.wait(60), "a value settles and is given to the writer"
        assert desk.hub.of("stored") == []
        assert desk.hub.lives[-1]["view"]["step"] == "level"
        desk.writer.gate.set()
        desk.barrier()
        assert len(desk.hub.of("stored")) == 1
        assert desk.hub.lives[-1]["view"]["step"] == "level-again"


def test_while_the_disk_is_full_nothing_is_announced_and_nothing_lost(desk: Desk) -> None:
    with desk:
        desk.to_level()
        desk.writer.full = True
        for _ in range(20):
            desk.clock.now_ns += NS // 5
            desk.runner.deliver(reading(desk.clock.now_ns))
        wait_until(lambda: bool(desk.hub.of("alarm")))
        with pytest.raises(Refusal, match="not stored"):
            desk.runner.act(KINDS.GO_ON)
        assert desk.hub.of("stored") == []
        assert desk.hub.lives[-1]["view"]["step"] == "level"
        assert desk.hub.lives[-1]["stored"]["error"] == "full"
        desk.writer.full = False
        desk.clock.now_ns += 2 * NS  # past the pause between two attempts
        wait_until(lambda: bool(desk.hub.of("stored")))
        desk.barrier()
        measured = [event for event in desk.writer.events if isinstance(event, Measured)]
        assert len(measured) == 20, "readings waited in memory"
        assert "Not stored" in desk.hub.of("alarm")[0]["text"]
        assert len(desk.writer.stored) == 3  # the end of the warm-up, a value, the end of its step


def test_a_stop_while_the_disk_is_full_ends_without_an_announcement(desk: Desk) -> None:
    with desk:
        desk.to_level()
        desk.writer.full = True
        for _ in range(20):
            desk.clock.now_ns += NS // 5
            desk.runner.deliver(reading(desk.clock.now_ns))
        wait_until(lambda: bool(desk.hub.of("alarm")))
    assert desk.hub.of("stored") == []


def test_a_refused_action_is_not_kept(desk: Desk) -> None:
    with desk:
        desk.to_level()
        before = list(desk.writer.events)
        reply = desk.runner.act(KINDS.SKIP, "")
        assert not reply.accepted
        assert "why" in reply.message
        assert desk.writer.events == before


def test_notes_and_skips_say_at_which_step_they_were_made(desk: Desk) -> None:
    with desk:
        desk.to_level()
        desk.runner.act(KINDS.NOTE, "hum")
        desk.runner.act(KINDS.SKIP, "no tape")
    assert [(act.kind, act.text, act.place) for act in actions(desk)[-2:]] == [
        (KINDS.NOTE, "hum", 1),
        (KINDS.SKIP, "no tape", 1),
    ]


def test_readings_of_other_channels_and_of_before_are_none_of_the_session(desk: Desk) -> None:
    with desk:
        early = desk.clock.now_ns
        desk.clock.now_ns += NS
        desk.to_level()
        desk.runner.deliver(reading(early))
        desk.runner.deliver(reading(desk.clock.now_ns, channel="spare"))
        desk.runner.deliver(reading(desk.clock.now_ns))
        desk.barrier()
    kept = [event for event in desk.writer.events if isinstance(event, Measured)]
    assert [(event.reading.channel, event.at_ns) for event in kept] == [("output", round(1.5 * NS))]
    told = [one for message in desk.hub.of("readings") for one in message["readings"]]
    assert [one["at_ns"] for one in told] == [None, None, round(1.5 * NS)]


def test_only_ticks_with_outcomes_are_kept(desk: Desk) -> None:
    with desk:
        desk.begin()
        desk.wait(3)
    assert [type(event) for event in desk.writer.events] == [Acted, Ticked]
    assert desk.writer.events[1].at_ns >= NS


def test_ticks_missed_in_a_suspend_are_skipped(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Field practice: a loop that catches up fires dozens of times at once after a sleep."""
    ticks: list[int] = []
    with desk:
        desk.begin()
        running = desk.runner.running
        assert running is not None

        def ticked(at_ns: int) -> list[Outcome]:
            ticks.append(at_ns)
            return []

        monkeypatch.setattr(running, "ticked", ticked)
        desk.clock.now_ns += 3600 * NS
        desk.barrier()
        desk.barrier()
    assert len(ticks) == 1


def test_one_session_at_a_time_until_it_has_ended(desk: Desk) -> None:
    with desk:
        with pytest.raises(Refusal) as none:
            desk.runner.act(KINDS.GO_ON)
        assert none.value.status == 404
        desk.begin()
        with pytest.raises(Refusal) as second:
            desk.begin()
        assert second.value.status == 409
        desk.wait(1.5)
        desk.runner.act(KINDS.SKIP, "no")
        desk.runner.act(KINDS.SKIP, "no")
        desk.press()
        assert desk.hub.of("session-ended")[0]["verdict"] == "not judged"
        desk.barrier()
        assert desk.hub.lives[-1]["view"]["state"] == "ended", "and stays in view until the next begins"
        desk.writer.events.clear()
        desk.begin()


def test_what_is_measured_while_paused_is_kept_but_settles_nothing(desk: Desk) -> None:
    with desk:
        desk.to_level()
        desk.runner.act(KINDS.PAUSE)
        desk.measure(3)
        assert desk.hub.of("stored") == []
        desk.runner.act(KINDS.RESUME)
        desk.measure(3)
        assert len(desk.hub.of("stored")) == 1
    assert sum(isinstance(event, Measured) for event in desk.writer.events) == 30


def test_a_reading_that_cannot_be_kept_is_left_out_with_an_alarm(desk: Desk) -> None:
    def refuse(event: object) -> None:
        if isinstance(event, Measured) and event.reading.value == 7.0:
            raise RecordsError("no room")

    desk.writer.refuse = refuse
    with desk:
        desk.to_level()
        desk.runner.deliver(reading(desk.clock.now_ns, 7.0))
        desk.measure(3)
        assert "no room" in desk.hub.of("alarm")[0]["text"]
        assert len(desk.hub.of("stored")) == 1, "and nothing else is disturbed"


def test_an_alarm_is_not_said_again_and_again(desk: Desk) -> None:
    def refuse(event: object) -> None:
        if isinstance(event, Measured):
            raise RecordsError("no room")

    desk.writer.refuse = refuse
    with desk:
        desk.to_level()
        desk.measure(4)
    assert len(desk.hub.of("alarm")) == 1


def test_a_fault_of_the_program_ends_the_daemon_instead_of_the_truth(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    with desk:
        desk.begin()
        monkeypatch.setattr(Engine, "apply", broken)
        desk.runner.deliver(reading(desk.clock.now_ns))
        assert desk.failed.wait(60)
        with pytest.raises(Refusal) as stopping:
            desk.runner.act(KINDS.NOTE, "hum")
    assert stopping.value.status == 503


def test_a_writer_in_memory_keeps_the_order() -> None:
    """The tests above rest on it."""
    writer = MemoryWriter()
    writer.event(1, 1, Ticked(1))
    with pytest.raises(AssertionError, match="gap"):
        writer.event(1, 3, Ticked(2))


def test_a_computer_that_slept_has_seen_nothing_meanwhile(desk: Desk) -> None:
    """Its monotonic clock stood still, so the readings before and after follow each other without a gap."""
    slept = 0
    desk.runner.sleep = Sleep(lambda: slept)
    with desk:
        desk.to_level()
        desk.measure(0.6)
        slept = 3600 * NS
        desk.measure(0.6)
        assert desk.hub.of("stored") == [], "0.6 s before and 0.6 s after are no dwell of 0.8 s"
        assert desk.hub.lives[-1]["view"]["guide"]["awaiting_go_on"], "is it still set up?"
        (woken,) = [act for act in actions(desk) if act.kind is KINDS.INTERRUPTED]
        assert woken.text == "the computer slept for 3600 s"
        assert woken.at_ns > 3600 * NS, "the time line goes on by the time away"
        desk.press()
        desk.measure(3)
    assert len(desk.hub.of("stored")) == 1
    times = [event.at_ns for event in desk.writer.events]
    assert times == sorted(times)


def test_sleep_is_told_once_and_less_than_a_second_is_none() -> None:
    clock = iter([10 * NS, 10 * NS + 5, 10 * NS + 900_000_000, 15 * NS, 15 * NS])
    sleep = Sleep(lambda: next(clock))
    assert [sleep.passed_ns() for _ in range(4)] == [0, 0, 5 * NS, 0]
    assert slept_ns() >= 0


class QuietHub(Hub):
    """Nobody listens, until somebody does."""

    def __init__(self) -> None:
        super().__init__()
        self.heard: list[str] = []
        self.somebody = False

    @property
    def listened(self) -> bool:
        return self.somebody

    def _offer(self, text: str, *, live: bool) -> None:
        self.heard.append(json.loads(text)["type"])


def test_while_nobody_listens_nothing_is_told_and_who_asks_sees_what_is_now(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    desk.hub = desk.runner.announcer._hub = QuietHub()  # type: ignore[assignment]
    with desk:
        desk.to_level()
        desk.hub.heard.clear()
        desk.measure(0.4, 1.0)
        assert desk.hub.heard == []
        assert (desk.runner.view() or {})["step_state"] == "settling"
        desk.hub.somebody = True
        desk.runner.tell()
        desk.barrier()
        assert set(desk.hub.heard) == {"live"}
        desk.measure(0.2, 1.0)
        assert "readings" in desk.hub.heard


def test_while_the_disk_takes_nothing_who_asks_sees_what_was_stored_last(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    desk.hub = desk.runner.announcer._hub = QuietHub()  # type: ignore[assignment]
    with desk:
        desk.to_level()
        desk.measure(0.4)
        desk.writer.full = True
        desk.clock.now_ns += NS
        for _ in range(20):
            desk.clock.now_ns += NS // 5
            desk.runner.deliver(reading(desk.clock.now_ns, PLUS_4_DBU))
        wait_until(lambda: bool(desk.writer._waiting))
        found = desk.runner.view()
        assert found is not None
        assert found["step"] == "level", "the next one is not stored yet"
        desk.writer.full = False
