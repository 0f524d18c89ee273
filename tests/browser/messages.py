"""Messages of the live stream, made from the procedure room's own View so that they keep its shape.

The demonstration's numbers are invented; 0 dBu = sqrt(0.6) V (ITU-R V.574), as everywhere in meterlog.
"""

import math
from dataclasses import asdict, replace
from typing import Any

from meterlog.accuracy import Verdict
from meterlog.procedure.events import Pass
from meterlog.procedure.view import (
    Alarm,
    Cue,
    Direction,
    Guide,
    PlannedStepView,
    SessionState,
    Sound,
    StepState,
    View,
)

Json = dict[str, Any]

SESSION = 1
BEGAN_NS = 1_800_000_000_000_000_000
STEPS = {
    "prepare": ("Prepare the machine", "prepare"),
    "azimuth": ("Azimuth", "extremum"),
    "reproduce-level": ("Reproduce level", "adjust"),
    "bias": ("Bias: over the peak", "back-off"),
    "overload-lamp": ("Overload lamp", "threshold"),
}


def volts(level_dbu: float) -> float:
    return math.sqrt(0.6) * 10 ** (level_dbu / 20)


def plan(here: int = 1, verdicts: dict[int, Verdict] | None = None) -> tuple[PlannedStepView, ...]:
    """Every step in every pass; those before `here` are done."""
    cells = [(pass_, step) for pass_ in Pass for step in STEPS]
    return tuple(
        PlannedStepView(
            place=place,
            step=step,
            title=STEPS[step][0],
            pattern=STEPS[step][1],
            pass_=pass_,
            state=StepState.DONE if place < here else StepState.WAITING,
            verdict=(verdicts or {}).get(place, Verdict.NOT_JUDGED),
            attempt=1,
        )
        for place, (pass_, step) in enumerate(cells)
    )


PREPARE = Guide(do_now="Thread the reference tape, then press the foot switch.", awaiting_go_on=True)
PEAK = Guide(
    do_now="Turn the azimuth screw slowly through the peak.",
    channel="output",
    present=volts(1.2),
    phase="find the peak",
    cue=Cue(Sound.TEMPO, 0.7),
)
LEVEL = Guide(
    do_now="Turn “reproduce level” up.",
    channel="output",
    present=volts(3.65),
    target=volts(4.0),
    low=volts(3.75),
    high=volts(4.25),
    distance=-0.35,
    distance_unit="dB",
    direction=Direction.UP,
    phase="adjust",
    why_not="still moving: 0.12 dB/s, settled is below 0.02 dB/s",
    cue=Cue(Sound.PITCH, -0.4),
)
INSIDE = replace(
    LEVEL,
    do_now="Take the screwdriver away.",
    present=volts(4.05),
    distance=0.05,
    direction=Direction.HOLD,
    progress=0.6,
    why_not="",
    cue=Cue(Sound.INSIDE),
)

ALARM = Guide(
    do_now="Emitter resistor: beyond the limit. Turn the idle current down at once.",
    channel="output",
    present=volts(7.0),
    target=volts(6.0),
    cue=Cue(Sound.ALARM),
)
WATCHING = ("Emitter resistor: output never above +6 dBu",)


def alarmed(*, tripped: bool, overload: bool = False, **changes: Any) -> View:
    """The step at hand while a guard sounds, as `meterlog.procedure.showing` makes it."""
    shown = replace(ALARM, awaiting_go_on=tripped, present=None if overload else ALARM.present)
    alarm = Alarm(
        guard="Emitter resistor",
        channel="output",
        value=shown.present,
        limit=volts(6.0),
        text="Turn the idle current down at once.",
        tripped=tripped,
    )
    return view(shown, alarm=alarm, watching=WATCHING, **changes)


def trip(at_ns: int = BEGAN_NS) -> Json:
    return {"type": "guard-tripped", "guard": "Emitter resistor", "step": "bias", "at_ns": at_ns}


def view(guide: Guide, place: int = 2, **changes: Any) -> View:
    cell = plan()[place]
    fields: Json = {
        "state": SessionState.RUNNING,
        "place": place,
        "step": cell.step,
        "title": cell.title,
        "pattern": cell.pattern,
        "pass_": cell.pass_,
        "step_state": StepState.MOVING,
        "text": "",
        "caution": "",
        "guide": guide,
        "plan": plan(place),
        "verdict": Verdict.NOT_JUDGED,
    }
    return View(**(fields | changes))


def level_text(value: float | None) -> str:
    return "" if value is None else f"{20 * math.log10(value / math.sqrt(0.6)):+.2f} dBu"


def channel(name: str = "output", level_dbu: float = 3.65, **changes: Any) -> Json:
    return {
        "channel": name,
        "value": volts(level_dbu),
        "text": f"{level_dbu:+.2f} dBu",
        "unit_text": "dBu",
        "state": "ok",
        "age_s": 0.1,
        "link": "live",
        "link_text": "",
        "low_battery": False,
    } | changes


def view_json(shown: View) -> Json:
    fields = asdict(shown)
    guide = shown.guide
    fields["guide"] |= {
        "present_text": level_text(guide.present),
        "target_text": level_text(guide.target),
        "low_text": level_text(guide.low),
        "high_text": level_text(guide.high),
        "accept_low_text": level_text(guide.accept_low),
        "accept_high_text": level_text(guide.accept_high),
        "distance_text": "" if guide.distance is None else f"{guide.distance:+.2f} {guide.distance_unit}",
    }
    return fields


def live(shown: View | None, *channels: Json, **changes: Any) -> Json:
    return {
        "type": "live",
        "time_ns": BEGAN_NS,
        "session": None if shown is None else SESSION,
        "view": None if shown is None else view_json(shown),
        "channels": list(channels) or [channel()],
        "links": [],
        "stored": {"pending": 0, "error": ""},
    } | changes


def readings(*levels_dbu: float, every_s: float = 0.5, name: str = "output") -> Json:
    """Readings that end at BEGAN_NS."""
    first_ns = BEGAN_NS - int((len(levels_dbu) - 1) * every_s * 1e9)
    return {
        "type": "readings",
        "readings": [
            {
                "type": "reading",
                "channel": name,
                "at_ns": None,
                "time_ns": first_ns + int(index * every_s * 1e9),
                "value": volts(level),
                "shown": level,
                "state": "ok",
            }
            for index, level in enumerate(levels_dbu)
        ],
    }


def settled(number: int, level_dbu: float = 4.02, verdict: Verdict = Verdict.PASS) -> Json:
    return {
        "number": number,
        "place": 2,
        "step": "reproduce-level",
        "condition": "",
        "pass_": Pass.AS_FOUND,
        "role": "measured",
        "channel": "output",
        "value": volts(level_dbu),
        "text": f"{level_dbu:+.2f} dBu",
        "verdict": verdict,
    }


def stored(number: int, level_dbu: float = 4.02, verdict: Verdict = Verdict.PASS) -> Json:
    return {"type": "stored", "settled": settled(number, level_dbu, verdict)}
