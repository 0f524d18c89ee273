"""A whole session on an invented tape machine: every pattern, failing as found and passing as left."""

import math

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, Pass, Role
from meterlog.reading import State
from tests.report.story import NEAR_4_DBU, Story, dbu


def whole_story() -> Story:
    """Every pattern, failing as found in two steps and passing as left; with a note, a redo and readings."""
    story = Story()
    story.end("warm", Pass.ADJUST, reason="ended early by the operator")
    _looked_at(story, Pass.AS_FOUND, level=3.4, lamp=(10.9, 10.2), zero=0.0042, scale=-0.0861)
    story.act(ActionKind.NOTE, "Heads worn; <b>cleaned</b> twice.")
    _adjusted(story)
    _looked_at(story, Pass.AS_LEFT, level=4.02, lamp=(12.1, 11.4), zero=-0.0002, scale=-0.1007)
    story.end("close", Pass.AS_LEFT)
    story.close(Verdict.PASS)
    return story


def _looked_at(
    story: Story, pass_: Pass, *, level: float, lamp: tuple[float, float], zero: float, scale: float
) -> None:
    story.capture("tone", pass_, dbu(4.01), role=Role.SOURCE, target=dbu(4.0), window=NEAR_4_DBU)
    story.end("tone", pass_, Verdict.PASS)
    story.level("level", pass_, level)
    if pass_ is Pass.AS_FOUND:
        story.capture("bias", pass_, dbu(-16.3))
        story.end("bias", pass_)
    _lamp(story, pass_, lamp)
    _panel(story, pass_, zero, scale)
    story.capture("noise", pass_, 0.00045)
    story.end("noise", pass_)


def _lamp(story: Story, pass_: Pass, lamp: tuple[float, float]) -> None:
    window = (dbu(11.5), dbu(12.5))
    lit = story.capture("lamp", pass_, dbu(lamp[0]), role=Role.LIT, target=dbu(12.0), window=window)
    story.capture("lamp", pass_, dbu(lamp[1]), role=Role.UNLIT)
    story.end("lamp", pass_, lit.verdict)


def _panel(story: Story, pass_: Pass, zero: float, scale: float, round_: int = 1) -> None:
    role = Role.ADJUSTED if pass_ is Pass.ADJUST else Role.MEASURED
    aims = {"zero": (0.0, (-0.001, 0.001)), "scale": (-0.1, (-0.102, -0.098))}
    taken = [
        story.capture(
            "meter", pass_, value, role=role, condition=condition, channel="panel", uncertainty=0.00005,
            target=aims[condition][0], window=aims[condition][1], round_=round_,
        )
        for condition, value in (("zero", zero), ("scale", scale))
    ]  # fmt: skip
    failed = Verdict.FAIL in [value.verdict for value in taken]
    if pass_ is not Pass.ADJUST:
        story.end("meter", pass_, Verdict.FAIL if failed else Verdict.PASS)


def _adjusted(story: Story) -> None:
    story.capture("tone", Pass.ADJUST, dbu(4.0), role=Role.SOURCE, target=dbu(4.0), window=NEAR_4_DBU)
    story.end("tone", Pass.ADJUST, Verdict.PASS)
    _approach(story, "output", 10.0, 3.4, 4.05)
    story.level("level", Pass.ADJUST, 4.05)
    story.redo("level", Pass.ADJUST, "tape was not seated")
    _approach(story, "output", 10.0, 3.8, 4.01)
    story.level("level", Pass.ADJUST, 4.01)
    for index in range(300):
        level = -18.5 - 0.45 + 3.05 * math.exp(-(((index - 120) / 70.0) ** 2))
        story.read("output", story.now_s + index / 10.0, dbu(level))
    story.capture("bias", Pass.ADJUST, dbu(-15.9), role=Role.PEAK)
    window = (dbu(-19.15), dbu(-18.65))
    story.capture("bias", Pass.ADJUST, dbu(-18.95), role=Role.ADJUSTED, target=dbu(-18.9), window=window)
    story.end("bias", Pass.ADJUST, Verdict.PASS, lasted_s=21.0)
    _lamp(story, Pass.ADJUST, (12.05, 11.3))
    for round_ in (1, 2):
        _panel(story, Pass.ADJUST, 0.0006 / round_, -0.1009 + 0.0005 * round_, round_)
    story.end("meter", Pass.ADJUST, Verdict.PASS)


def _approach(story: Story, channel: str, seconds: float, begin_dbu: float, end_dbu: float) -> None:
    """Readings ten times a second that close in on a level; the meter is overloaded for a moment."""
    for index in range(round(seconds * 10)):
        share = 1.0 - math.exp(-index / 20.0)
        level = begin_dbu + (end_dbu - begin_dbu) * share + 0.02 * math.sin(index * 1.7)
        overloaded = index in (30, 31)
        state = State.OVERLOAD if overloaded else State.OK
        story.read(channel, story.now_s + index / 10.0, None if overloaded else dbu(level), state)
