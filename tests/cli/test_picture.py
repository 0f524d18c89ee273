"""The picture in the terminal, made of live messages as the daemon makes them."""

import io
import math
import re
import time
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console
from rich.screen import Screen

from meterlog.accuracy import Verdict
from meterlog.cli.follow.follow import Follower
from meterlog.cli.follow.keyboard import Request
from meterlog.cli.follow.page import Page
from meterlog.cli.follow.picture import Scene
from meterlog.cli.follow.resting import at_rest, resting_text
from meterlog.cli.follow.trace import Trace, window_line
from meterlog.daemon.as_json import plain
from meterlog.daemon.messages import view_json
from meterlog.daemon.scales import Scales
from meterlog.procedure import (
    Alarm,
    Cue,
    Direction,
    Guide,
    Pass,
    PlannedStepView,
    SessionState,
    Sound,
    StepState,
    View,
)
from meterlog.quantity import DBU, Unit

Json = dict[str, Any]


def volts(level_dbu: float) -> float:
    """0 dBu = sqrt(0.6) V, ITU-R V.574."""
    return math.sqrt(0.6) * 10 ** (level_dbu / 20)


GUIDE = Guide(
    do_now="Bring the level up.",
    channel="output",
    present=volts(3.65),
    target=volts(4),
    low=volts(3.75),
    high=volts(4.25),
    distance=-0.35,
    distance_unit="dB",
    direction=Direction.UP,
    why_not="moving: still for 0.2 s of 1.0 s",
    progress=0.5,
    cue=Cue(Sound.PITCH, -0.4),
)
INSIDE = replace(GUIDE, direction=Direction.HOLD, present=volts(4), cue=Cue(Sound.INSIDE))
CHANNEL = {
    "channel": "output",
    "value": volts(3.65),
    "text": "+3.65 dBu",
    "unit_text": "dBu",
    "state": "ok",
    "age_s": 0.1,
    "link": "live",
    "link_text": "",
    "low_battery": False,
}


def plan() -> tuple[PlannedStepView, ...]:
    rows = [
        ("azimuth", StepState.DONE, Verdict.PASS),
        ("level", StepState.MOVING, Verdict.NOT_JUDGED),
        ("bias", StepState.SKIPPED, Verdict.NOT_JUDGED),
    ]
    return tuple(
        PlannedStepView(
            place=place,
            step=name,
            title=f"Step {name}",
            pattern="adjust",
            pass_=Pass.ADJUST,
            state=state,
            verdict=verdict,
            attempt=1,
        )
        for place, (name, state, verdict) in enumerate(rows)
    )


def live(guide: Guide = GUIDE, channel: Json = CHANNEL, **changes: Any) -> Json:
    view = View(
        state=SessionState.RUNNING,
        place=1,
        step="level",
        title="Step level",
        pattern="adjust",
        pass_=Pass.ADJUST,
        step_state=StepState.MOVING,
        text="Reproduce level trimmer.",
        caution="Keep one hand away.",
        guide=guide,
        plan=plan(),
        verdict=Verdict.NOT_JUDGED,
    )
    told = view_json(view, Unit.VOLT, Scales({"output": DBU}), 1e-3) | changes
    return {
        "type": "live",
        "time_ns": 60 * 10**9,
        "session": 1,
        "view": told,
        "channels": [channel],
        "links": [],
        "stored": {"pending": 0, "error": ""},
    }


def drawn(scene: Scene, width: int = 100) -> str:
    console = Console(file=io.StringIO(), width=width, height=200, force_terminal=False)
    console.print(Page(scene))
    text = console.file.getvalue()  # type: ignore[attr-defined]
    assert isinstance(text, str)
    return text


def test_it_says_what_to_do_how_far_and_which_way() -> None:
    text = drawn(Scene(live=live()))
    for words in (
        "Bring the level up.",
        "Caution: Keep one hand away.",
        "▲ 0.35 dB up",
        "target +4.00 dBu",
        "low +3.75 dBu",
        "still for 0.2 s",
        "▮▮▮▮▮▮▮▮▮▮▯",
        "✓ pass",
        "↷ skipped",
        "2/3 Step level",
    ):
        assert words in text


def test_inside_is_a_word_and_a_shape() -> None:
    text = drawn(Scene(live=live(INSIDE)))
    assert "● hold" in text
    assert "dB up" not in text


@pytest.mark.parametrize("width", [20, 40, 80, 200])
def test_it_fits_every_terminal(width: int) -> None:
    assert all(len(line) <= width for line in drawn(Scene(live=live()), width).splitlines())


def test_an_old_level_is_said_to_be_old() -> None:
    stale = CHANNEL | {"link": "stale", "link_text": "silent since 12:00", "age_s": 42.0}
    assert "stale: silent since 12:00 (last reading 42 s ago)" in drawn(Scene(live=live(channel=stale)))


def test_no_number_is_a_word_not_the_last_number() -> None:
    overload = CHANNEL | {"value": None, "text": "", "state": "overload"}
    text = drawn(Scene(live=live(channel=overload)))
    assert "overload" in text
    assert "█" not in text


def test_what_must_not_be_overlooked_stands_on_top() -> None:
    message = live() | {"stored": {"pending": 3, "error": "the disk is full"}}
    first, second = drawn(Scene(live=message, lost="no daemon answers")).splitlines()[:2]
    assert "NO LINK" in first
    assert "NOT STORED: the disk is full" in second


def test_without_a_session_it_says_how_to_begin_one() -> None:
    assert "meterlog start" in drawn(Scene())
    assert "meterlog start" in drawn(Scene(live=live() | {"view": None}))


def test_a_reason_that_is_being_typed_is_seen() -> None:
    scene = Scene(live=live())
    scene.keyboard.press("s", 0.0, paused=False)
    scene.keyboard.press("x", 1.0, paused=False)
    assert "skip, reason or text: x" in drawn(scene)


def test_the_bell_is_for_what_must_be_heard(tmp_path: Any) -> None:
    follower = Follower(tmp_path, bell=True)
    assert not follower.take(live())
    assert follower.take(live(INSIDE)), "coming inside"
    assert not follower.take(live(INSIDE)), "once"
    settled = {"text": "+4.00 dBu", "verdict": "pass", "step": "level", "pass_": "adjust"}
    assert follower.take({"type": "stored", "settled": settled, "session": 1})
    assert "✓ stored: +4.00 dBu, pass (level, adjust)" in drawn(follower.scene)
    follower.take(live() | {"session": 2})
    assert "stored" not in drawn(follower.scene), "it was another session's"
    assert not follower.take({"type": "lost", "text": "gone"})
    assert "gone" in drawn(follower.scene)
    follower.take(live())
    assert "gone" not in drawn(follower.scene)


def test_what_passes_stands_below_the_limits_where_it_is_less() -> None:
    assert "passes" not in drawn(Scene(live=live()))
    guarded = replace(GUIDE, accept_low=volts(3.85), accept_high=volts(4.15))
    assert "passes: +3.85 dBu to +4.15 dBu" in drawn(Scene(live=live(guarded)))
    one_sided = replace(GUIDE, accept_low=volts(3.85))
    assert "passes: from +3.85 dBu" in drawn(Scene(live=live(one_sided)))
    nothing = drawn(Scene(live=live(replace(GUIDE, nothing_left=True))))
    assert "passes: nothing, the guard band leaves none of it" in nothing


def test_limits_of_what_no_channel_shows_are_told_too() -> None:
    """A reading that is typed in, a value that is computed of others."""
    told = drawn(Scene(live=live(replace(GUIDE, channel="", accept_low=0.8, accept_high=1.2))))
    assert "passes: " in told
    assert "low " in told
    assert "comes to" not in told
    computed = drawn(Scene(live=live(replace(GUIDE, channel="", computed=True))))
    assert "comes to 1." in computed


def alarmed(*, tripped: bool, time_s: float = 60.0) -> Json:
    guide = Guide(
        do_now="Panel drive: beyond the limit. Turn it down.",
        channel="output",
        present=volts(7),
        target=volts(6),
        cue=Cue(Sound.ALARM),
    )
    alarm = Alarm(
        guard="Panel drive",
        channel="output",
        value=volts(7),
        limit=volts(6),
        text="Turn it down.",
        tripped=tripped,
    )
    watching = ["Panel drive: output never above +6 dBu"]
    message = live(guide, alarm=plain(alarm), watching=watching)
    return message | {"time_ns": int(time_s * 1e9)}


def test_a_guard_stands_on_top_in_words_and_shapes() -> None:
    text = drawn(Scene(live=alarmed(tripped=False)))
    assert text.splitlines()[0] == "■ BEYOND THE LIMIT ■  Panel drive: +7.00 dBu, limit +6.00 dBu"
    assert drawn(Scene(live=alarmed(tripped=True))).splitlines()[0].startswith("■■■ TRIPPED ■■■")
    assert "◉ watched: Panel drive: output never above +6 dBu" in text
    assert "BEYOND" not in drawn(Scene(live=live()))


def test_the_bell_rings_each_second_while_a_guard_sounds(tmp_path: Any) -> None:
    follower = Follower(tmp_path, bell=True)
    times = [60.0 + quarter / 4 for quarter in range(9)]
    rung = [follower.take(alarmed(tripped=True, time_s=time_s)) for time_s in times]
    assert rung == [True, False, False, False, True, False, False, False, True]
    assert not follower.take(live())
    assert follower.take(alarmed(tripped=False, time_s=63.0)), "a new one at once"
    assert follower.take({"type": "guard-tripped", "guard": "Panel drive", "step": "level"})
    assert "✗ guard tripped: Panel drive (level)" in drawn(follower.scene)


def test_messages_of_a_later_version_are_passed_over(tmp_path: Any) -> None:
    assert not Follower(tmp_path, bell=True).take({"type": "weather", "text": "fine"})


def guide(**levels: float | None) -> Json:
    accepted = {"accept_low": None, "accept_high": None}
    return {"low": 1.0, "high": 3.0, "target": 2.0, "present": 2.0} | accepted | levels


def test_the_window_line_shows_place_by_position() -> None:
    assert window_line(guide(present=None), 12) == "····[·:·]···"
    passing = guide(low=0.0, high=4.0, accept_low=1.0, accept_high=3.0, present=None)
    assert window_line(passing, 12) == "····[(:)]···"
    line = window_line(guide(present=1.5), 61)
    assert line.index("[") < line.index("◆") < line.index(":") < line.index("]")
    assert window_line(guide(present=-100.0), 61)[0] == "◆"
    assert window_line(guide(present=100.0), 61)[-1] == "◆"
    assert window_line(guide(low=None), 61) == ""


@given(st.floats(allow_nan=False, allow_infinity=False), st.integers(10, 200))
def test_the_window_line_is_as_long_as_asked(present: float, columns: int) -> None:
    line = window_line(guide(present=present), columns)
    assert len(line) == columns
    assert "◆" in line


def reading(at_s: float, shown: float | None, channel: str = "output") -> Json:
    return {"channel": channel, "time_ns": int(at_s * 1e9), "shown": shown}


def test_the_trace_rises_with_the_level_and_has_gaps_where_nothing_was_read() -> None:
    trace = Trace()
    trace.follow("output")
    for second in range(60):
        trace.add(reading(second, None if 20 <= second < 30 else float(second)))
    trace.add(reading(59, 99.0, "spare"))
    line = trace.line(60, 60.0)
    assert len(line) == 60
    assert line.strip().startswith("▁")
    assert line.rstrip().endswith("█")
    shown = [mark for mark in line if mark != " "]
    assert shown == sorted(shown)
    assert "          " in line


def test_the_trace_forgets_what_is_old_and_what_was_another_channel() -> None:
    trace = Trace()
    trace.follow("output")
    trace.add(reading(0, 1.0))
    trace.add(reading(100, 5.0))
    assert trace.line(10, 100.0).count("▅") == 1
    trace.follow("spare")
    assert trace.line(10, 100.0) == " " * 10


def test_what_the_step_asks_for_is_said_and_what_is_typed_is_shown() -> None:
    asking = replace(GUIDE, channel="", asks_for="reading in VU")
    scene = Scene(live=live(asking))
    assert "▶ e, then the reading in VU" in drawn(scene)
    for at, key in enumerate("e-1"):
        scene.keyboard.press(key, float(at), paused=False, asks_for=scene.asks_for)
    assert "reading in VU: -1▏" in drawn(scene)


def test_another_meter_says_which_key_is_for_it() -> None:
    message = live(GUIDE)
    assert "▶ o:" not in drawn(Scene(live=message))
    message["view"]["other_meters"] = '\'bench meter\' is "B", until now it was "A"'
    assert "▶ o: the other meter is meant, and why" in drawn(Scene(live=message))


def on_screen(scene: Scene, width: int, height: int) -> str:
    """What a terminal of that size shows, the rest cut off."""
    console = Console(file=io.StringIO(), width=width, height=height, force_terminal=True, color_system=None)
    console.print(Screen(Page(scene)), end="")
    lines = console.file.getvalue().splitlines()  # type: ignore[attr-defined]
    assert len(lines) <= height
    return "\n".join(line.rstrip() for line in lines)


def long_live(here: int, steps: int = 13) -> Json:
    """Everything at once: two lines of text, caution, guard, a channel, and a long list of steps."""
    message = live(
        text="Reproduce level trimmer, the upper one on the board beside the head connector. " * 2,
        watching=["Panel drive: output never above +6 dBu"],
    )
    row = message["view"]["plan"][1]
    message["view"]["plan"] = [row | {"place": at, "title": f"Step number {at}"} for at in range(steps)]
    message["view"]["place"] = here
    return message


@pytest.mark.parametrize(("width", "height"), [(80, 24), (100, 32), (80, 20), (120, 50)])
@pytest.mark.parametrize("here", [0, 6, 12])
def test_prompt_refusal_and_what_to_do_show_in_every_terminal(width: int, height: int, here: int) -> None:
    scene = Scene(live=long_live(here), notice="12:03:07 say why the step is skipped")
    shown = on_screen(scene, width, height)
    for words in ("Bring the level up.", "output: +3.65 dBu", "say why the step", "space or pedal", "leave"):
        assert words in shown
    scene.keyboard.press("s", 0.0, paused=False)
    shown = on_screen(scene, width, height)
    assert "skip, reason or text: ▏" in shown
    assert "say why the step" in shown


@pytest.mark.parametrize("here", [0, 1, 6, 11, 12])
def test_the_list_of_steps_is_cut_round_the_step_at_hand(here: int) -> None:
    shown = on_screen(Scene(live=long_live(here)), 100, 32)
    listed = [line for line in shown.splitlines() if "Step number" in line]
    assert any(line.startswith("▶") and f"number {here} " in line for line in listed)
    counts = [int(line.split()[1]) for line in shown.splitlines() if line.startswith("⋮")]
    assert counts
    assert len(listed) + sum(counts) == 13


def test_an_answer_goes_after_some_seconds_and_tells_its_time(tmp_path: Any) -> None:
    follower = Follower(tmp_path, bell=False)
    follower._ask(Request("note", "hum"))  # no daemon is there
    began_s = time.monotonic()
    assert re.match(r"\d\d:\d\d:\d\d .*meterlog serve", follower.scene.notice)
    follower.fade(began_s + 5.0)
    assert follower.scene.notice
    follower.fade(began_s + 30.0)
    assert follower.scene.notice == ""
    follower.take({"type": "alarm", "text": "Not stored: the disk is full."})
    follower.fade(began_s + 3600.0)
    assert follower.scene.notice.endswith("the disk is full.")


def test_an_entry_that_nobody_asked_for_is_seen_to_be_none() -> None:
    scene = Scene(live=live())
    for at, key in enumerate("en"):
        scene.keyboard.press(key, float(at), paused=False)
    assert "nothing is asked for here: n▏" in drawn(scene)


def listed(number: int, verdict: str | None, parting: str = "", reason: str = "") -> Json:
    return {"id": number, "unit": "Recorder 17", "procedure": "Two", "verdict": verdict} | {
        "parting": parting,
        "reason": reason,
    }


def test_without_work_it_says_what_waits_and_how_the_last_one_ended() -> None:
    sessions = [
        listed(3, "fail", "inoperable", "head worn"),
        listed(2, None, "set-aside", "part missing"),
        listed(1, None),
    ]
    assert resting_text(sessions, None).splitlines() == [
        "Session 2 (Recorder 17, Two): set aside: part missing",
        "  go on with it: meterlog resume 2",
        "Session 1 (Recorder 17, Two): not ended",
        "  go on with it: meterlog resume 1",
    ]
    ended = resting_text(sessions, 3)
    assert (
        ended == "Session 3 (Recorder 17, Two): fail, inoperable: head worn\n  its report: meterlog report 3"
    )
    shown = drawn(Scene(live=live(), resting=ended))
    assert all(line in shown for line in ended.splitlines())
    waiting = resting_text([listed(number, None) for number in range(9)], None)
    assert waiting.endswith("and 4 more: meterlog sessions")


def test_work_is_at_rest_without_a_session_and_after_its_end() -> None:
    assert at_rest(None) == (None, False)
    assert at_rest(live()) == (1, False)
    assert at_rest(live(state="ended")) == (1, True)
    assert at_rest(live() | {"view": None, "session": None}) == (None, True)
