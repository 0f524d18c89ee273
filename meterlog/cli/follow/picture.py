"""The parts of the picture in the terminal, from the newest live message; page.py lays them out.

What a colour says, a word or shape says too.
"""

from dataclasses import dataclass, field
from typing import Any

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from meterlog.cli.follow.big_digits import big
from meterlog.cli.follow.keyboard import HELP, NOT_ASKED, Keyboard
from meterlog.cli.follow.trace import Trace, window_line

Json = dict[str, Any]
_STATES = {"waiting": "○", "moving": "≈", "settling": "◔", "settled": "●", "done": "✓", "skipped": "↷"}
_VERDICTS = {
    "pass": ("✓", "green"),
    "conditional pass": ("(✓)", "green"),
    "conditional fail": ("(✗)", "red"),
    "fail": ("✗", "red"),
    "not judged": ("–", ""),
}
_ARROWS = {"up": "▲", "down": "▼", "hold": "●"}
_PROGRESS = 20


@dataclass
class Scene:
    """What there is to draw.

    lost     why there is no link, "" while there is
    notice   the last word, with the time of day when it was said
    stored   the last value of a session, by the session's number
    resting  what became of the sessions, while none is being worked on
    """

    live: Json | None = None
    lost: str = ""
    notice: str = ""
    stored: dict[int, str] = field(default_factory=dict)
    resting: str = ""
    trace: Trace = field(default_factory=Trace)
    keyboard: Keyboard = field(default_factory=Keyboard)

    @property
    def view(self) -> Json | None:
        return self.live["view"] if self.live else None

    @property
    def asks_for(self) -> str:
        """What the step wants typed in, "" if nothing."""
        return str(self.view["guide"]["asks_for"]) if self.view else ""


def upper(scene: Scene, width: int, digit_rows: int) -> list[RenderableType]:
    """All that stands above the list of steps, for a terminal `width` columns wide."""
    parts: list[RenderableType] = list(_alarms(scene))
    if scene.view is None or scene.live is None:
        parts.append(Text("No session is running. Begin one with: meterlog start", style="bold"))
    else:
        parts += _work(scene, scene.live, scene.view, width, digit_rows)
    return [*parts, Text(scene.resting)] if scene.resting else parts


def _alarms(scene: Scene) -> list[RenderableType]:
    lost = f"✗ NO LINK to the daemon, what is shown is old: {scene.lost}" if scene.lost else ""
    error = scene.live["stored"]["error"] if scene.live else ""
    unstored = f"✗ NOT STORED: {error}" if error else ""
    texts = (lost, unstored, *_guard(scene.view or {}))
    return [Text(text, style="bold white on red") for text in texts if text]


def _guard(view: Json) -> tuple[str, ...]:
    """The alarm of a guard; its guide is about the guard's channel, with the limit as the target."""
    alarm, guide = view.get("alarm"), view.get("guide")
    if alarm is None or guide is None:
        return ()
    word = "■■■ TRIPPED ■■■" if alarm["tripped"] else "■ BEYOND THE LIMIT ■"
    shown = guide["present_text"] or "overload"
    return (f"{word}  {alarm['guard']}: {shown}, limit {guide['target_text']}", alarm["text"])


def _work(scene: Scene, live: Json, view: Json, width: int, digit_rows: int) -> list[RenderableType]:
    guide = view["guide"]
    channel = next((one for one in live["channels"] if one["channel"] == guide["channel"]), None)
    said = [_head(view), Text(guide["do_now"], style="bold reverse" if guide["awaiting_go_on"] else "bold")]
    said += [Text(view["text"])] if view["text"] not in ("", guide["do_now"]) else []
    said += [Text(f"Caution: {view['caution']}", style="bold yellow")] if view["caution"] else []
    said += [Text(f"◉ watched: {'; '.join(view['watching'])}", style="dim")] if view["watching"] else []
    shown: list[RenderableType] = [*said, Text("")]
    if channel is not None:
        shown += [*_digits(channel, width, digit_rows), Text("")]
    shown += _window(guide, width)
    if channel is not None:
        shown.append(Text(scene.trace.line(min(width, 60), live["time_ns"] / 1e9), style="cyan"))
    return [*shown, _motion(view, guide), Text(scene.stored.get(live["session"], ""), style="bold green")]


def _head(view: Json) -> Text:
    return Text(
        f"{view['place'] + 1}/{len(view['plan'])} {view['title']} · {view['pass_']} · {view['state']}"
    )


def _digits(channel: Json, width: int, rows: int) -> list[RenderableType]:
    """The level without its unit in large digits, the unit and how old it is beside; greyed unless live."""
    unit, fresh = channel["unit_text"], channel["link"] == "live"
    level = channel["text"].removesuffix(unit).strip() or channel["state"] or "no reading yet"
    lines = big(level, width - len(unit) - 2, rows)
    lines[-1] += f" {unit}"
    style = "bold" if fresh else "dim"
    age = (
        channel.get("correction_text", "")
        if fresh
        else f"{channel['link']}: {channel['link_text']} (last reading {_age(channel['age_s'])} ago)"
    )
    return [*(Text(line, style=style, no_wrap=True) for line in lines), Text(age)]


def _age(age_s: float | None) -> str:
    return "?" if age_s is None else f"{age_s:.0f} s"


def _window(guide: Json, width: int) -> list[RenderableType]:
    line = window_line(guide, min(width, 60))
    limits = " ".join(f"{word} {guide[name]}" for word, name in _told(guide) if guide[name])
    inside = guide["direction"] == "hold"
    distance = guide["distance_text"].lstrip("+-") if not inside else ""
    way = " ".join(
        part for part in (_ARROWS.get(guide["direction"], ""), distance, guide["direction"]) if part
    )
    texts = (Text(line), Text(limits), _accepted(guide), Text(way, style="bold green" if inside else "bold"))
    return [text for text in texts if text.plain]


def _told(guide: Json) -> list[tuple[str, str]]:
    """The limits by their words; before them what is computed, for the digits show something else."""
    limits = [(name, f"{name}_text") for name in ("low", "target", "high")]
    return [("comes to", "present_text"), *limits] if guide["computed"] else limits


def _accepted(guide: Json) -> Text:
    """What passes, where a guard band makes that less than the limits."""
    if guide["nothing_left"]:
        return Text("passes: nothing, the guard band leaves none of it", style="bold yellow")
    low, high = guide["accept_low_text"], guide["accept_high_text"]
    if not low and not high:
        return Text("")
    return Text(
        f"passes: {low} to {high}"
        if low and high
        else f"passes: from {low}"
        if low
        else f"passes: up to {high}"
    )


def _motion(view: Json, guide: Json) -> Text:
    done = round((guide["progress"] or 0.0) * _PROGRESS)
    bar = "" if guide["progress"] is None else "▮" * done + "▯" * (_PROGRESS - done)
    state = f"{_STATES[view['step_state']]} {view['step_state']}"
    return Text("  ".join(part for part in (state, bar, guide["why_not"]) if part))


def steps(scene: Scene) -> tuple[RenderableType, int]:
    """The steps of the pass at hand, one line each, and which line is the step at hand."""
    table = Table.grid(padding=(0, 2))
    for _ in range(3):
        table.add_column(no_wrap=True, overflow="ellipsis")
    view: Json = scene.view or {"plan": [], "pass_": "", "place": 0}
    listed = [one for one in view["plan"] if one["pass_"] == view["pass_"]]
    for item in listed:
        here = item["place"] == view["place"]
        table.add_row("▶" if here else "", item["title"], _cell(item), style="bold" if here else "")
    places = [item["place"] for item in listed]
    return table, places.index(view["place"]) if view["place"] in places else 0


def _cell(item: Json) -> Text:
    if item["state"] == "done" and item["verdict"] != "not judged":
        shape, style = _VERDICTS[item["verdict"]]
        return Text(f"{shape} {item['verdict']}", style=style)
    return Text(f"{_STATES[item['state']]} {item['state']}")


def _channels(channels: list[Json]) -> Text:
    parts = [f"{one['channel']}: {one['text'] or one['state'] or '–'} ({_health(one)})" for one in channels]
    return Text("   ".join(parts), style="dim")


def _health(channel: Json) -> str:
    battery = "battery low" if channel["low_battery"] else ""
    remark = channel.get("remark", "")
    said = f"says: {remark}" if remark else ""
    return ", ".join(part for part in (str(channel["link"]), battery, said) if part)


def foot(scene: Scene) -> list[RenderableType]:
    """What must be seen in the lowest terminal too: all meters, the last word, and what the keys do now."""
    meters = [_channels(scene.live["channels"])] if scene.live else []
    asking = f"▶ e, then the {scene.asks_for}" if scene.asks_for else ""
    other = "▶ o: the other meter is meant, and why" if (scene.view or {}).get("other_meters") else ""
    keys = [Text(text) for text in (asking, other, HELP) if text]
    said = [Text(scene.notice)] if scene.notice else []
    return [*meters, *said, *([_prompt(scene.keyboard)] if scene.keyboard.asking else keys)]


def _prompt(keyboard: Keyboard) -> Text:
    unwanted = NOT_ASKED if keyboard.asking == "enter" else f"{keyboard.asking}, reason or text"
    return Text(f"{keyboard.wanted or unwanted}: {keyboard.typed}▏ (enter, esc)", style="bold")
