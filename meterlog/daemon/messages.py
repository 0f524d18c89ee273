"""The messages of the live stream, every number also as the text to show. No thread, no clock."""

import math
from collections.abc import Callable
from typing import Any

from meterlog.accuracy.decision import SIMPLE
from meterlog.daemon.as_json import record
from meterlog.daemon.scales import Scales
from meterlog.procedure import Guide, SettledValue, View
from meterlog.quantity import QuantityError, Scale, Unit, difference_db, parse_scale, show, show_number
from meterlog.reading import LOW_BATTERY, Reading
from meterlog.report.decision_words import passes_text
from meterlog.report.shown import shown

Json = dict[str, Any]
Corrected = Callable[[Reading], Reading]
"""What a session makes of a reading."""
_LEVELS = ("present", "target", "low", "high", "accept_low", "accept_high")


def view_json(view: View, unit: Unit, scales: Scales, resolution: float = 0.0) -> Json:
    """A view with its texts. `unit` is that of the guide's channel, `resolution` one count of its meter."""
    guide = view.guide
    if guide.computed or not guide.channel:
        return record(view) | {"guide": guide_json(guide, scales.of_step(view.step), _window_step(guide))}
    return record(view) | {"guide": guide_json(guide, scales.of(guide.channel, unit), resolution)}


def guide_json(guide: Guide, scale: Scale, resolution: float) -> Json:
    """present_text, target_text, low_text, high_text, distance_text, accept_low_text and accept_high_text are
    "" where there is no number."""
    levels = {name: getattr(guide, name) for name in _LEVELS}
    steps = {name: resolution if name == "present" else _window_step(guide) for name in _LEVELS}
    texts = {
        f"{name}_text": "" if level is None else show(level, scale, steps[name])
        for name, level in levels.items()
    }
    return record(guide) | texts | {"distance_text": _distance_text(guide)}


def _window_step(guide: Guide) -> float:
    """How finely limits and the way to them are told, base unit: a tenth of half the window, and a limit does
    not read the same as where passing ends."""
    if guide.low is None or guide.high is None:
        return 0.0
    ends = ((guide.low, guide.accept_low), (guide.high, guide.accept_high))
    guard_bands = [abs(end - limit) / 2.0 for limit, end in ends if end is not None]
    return min([(guide.high - guide.low) / 20.0, *filter(None, guard_bands)])


def _distance_text(guide: Guide) -> str:
    if guide.distance is None or not math.isfinite(guide.distance):
        return ""
    return f"{_signed(guide.distance, guide.distance_unit, guide)} {guide.distance_unit}"


def _signed(distance: float, unit: str, guide: Guide) -> str:
    try:
        scale = parse_scale(unit)
    except QuantityError:  # dB: a difference has no scale of its own
        return f"{distance:+.2f}"
    step = 0.1 if unit == "%" else _window_step(guide)
    return ("+" if distance > 0 else "") + show_number(scale.to_base(distance), scale, step)


def channel_json(
    name: str, reading: Reading | None, scales: Scales, now_ns: int, corrected: Corrected | None = None
) -> Json:
    """What a channel shows; without a reading yet its value, state and age are null. A session that takes the
    meter's own response out of it goes by another level: that is shown, and `correction_text` says so."""
    if reading is None:
        return {"channel": name, "value": None, "text": "", "unit_text": "", "state": None} | {
            "age_s": None,
            "low_battery": False,
            "correction_text": "",
        }
    scale, display = scales.of(name, reading.unit), reading
    reading = corrected(reading) if corrected else reading
    return {
        "channel": name,
        "value": reading.value,
        "text": "" if reading.value is None else show(reading.value, scale, reading.resolution),
        "unit_text": scale.symbol + scale.bracket,
        "state": reading.state,
        "age_s": max(0, now_ns - reading.monotonic_ns) / 1e9,
        "low_battery": LOW_BATTERY in reading.flags,
        "flags": reading.unfit,
        "correction_text": _correction_text(display, reading, scale),
    }


def _correction_text(display: Reading, reading: Reading, scale: Scale) -> str:
    if display.value is None or reading.value is None or display.value == reading.value:
        return ""
    by = difference_db(reading.value, display.value)
    return f"{by:+.2f} dB on the display's {show(display.value, scale, display.resolution)}"


def reading_json(reading: Reading, at_ns: int | None, scales: Scales) -> Json:
    """One reading for a chart. `at_ns` is None outside a session."""
    scale = scales.of(reading.channel, reading.unit)
    return {
        "type": "reading",
        "channel": reading.channel,
        "at_ns": at_ns,
        "time_ns": reading.time_ns,
        "value": reading.value,
        "shown": None if reading.value is None else scale.from_base(reading.value),
        "state": reading.state,
    }


def settled_json(settled: SettledValue, scales: Scales) -> Json:
    """A settled value with `text`, rounded by its own uncertainty as in the report, and that as a text;
    `passes_text` says what passes where that is not its limits."""
    of_channel = bool(settled.channel)
    scale = scales.of(settled.channel, settled.unit) if of_channel else scales.of_step(settled.step)
    texts = shown(settled, scale)
    return record(settled) | {
        "text": f"{texts.value} {texts.unit}",
        "uncertainty_text": texts.uncertainty,
        "deviation_text": texts.deviation,
        "passes_text": passes_text(settled, scales.procedure.rule if scales.procedure else SIMPLE, scale),
    }
