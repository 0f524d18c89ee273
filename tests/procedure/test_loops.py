"""Loops written out: the same steps for each channel, speed or range."""

import pytest

from tests.procedure.bench import HEAD, Bench
from tests.procedure.test_load import problems

LOOPED = """
[[loop]]
name = "side"
[[loop.round]]
id = "left"
channel = "output"
trimmer = "R12"
[[loop.round]]
id = "right"
title = "right side"
channel = "panel"
trimmer = "R22"

[[step]]
id = "before"
title = "Before"
pattern = "prepare"
setup = "Write {braces} as you like outside a loop."

[[step]]
loop = "side"
id = "tone"
title = "Tone"
pattern = "set-source"
channel = "{channel}"
target = "0 dBu"
tolerance = "0.2 dB"

[[step]]
loop = "side"
id = "level"
title = "Level"
pattern = "adjust"
text = "Trimmer {trimmer}, on the {side}."
channel = "{channel}"
reference = "tone-{side}"
target = "0 dB"
tolerance = "0.1 dB"
"""


def test_every_round_runs_all_steps_of_the_loop_in_order() -> None:
    steps = Bench(LOOPED).engine.procedure.steps
    assert [step.id for step in steps] == ["before", "tone-left", "level-left", "tone-right", "level-right"]
    assert [step.title for step in steps][1:] == [
        "Tone: left",
        "Level: left",
        "Tone: right side",
        "Level: right side",
    ]
    assert steps[4].text == "Trimmer R22, on the right."
    assert steps[4].channels == ("panel",)
    assert steps[4].needs == ("tone-right",)
    assert "{braces}" in steps[0].setup


def test_loops_nest_the_first_outermost() -> None:
    speeds = '[[loop]]\nname = "speed"\n[[loop.round]]\nid = "slow"\n[[loop.round]]\nid = "fast"\n'
    nested = LOOPED.replace('loop = "side"', 'loop = ["speed", "side"]').replace(
        "tone-{side}", "tone-{speed}-{side}"
    )
    ids = [step.id for step in Bench(speeds + nested).engine.procedure.steps][1:]
    assert ids == [
        f"{step}-{speed}-{side}"
        for speed in ("slow", "fast")
        for side in ("left", "right")
        for step in ("tone", "level")
    ]


@pytest.mark.parametrize(
    ("old", "new", "field", "says"),
    [
        ('loop = "side"\nid = "tone"', 'loop = "sides"\nid = "tone"', "step.2.loop", "no loop 'sides'"),
        ("Trimmer {trimmer}", "Trimmer {screw}", "step.3", "no word {screw} in the loop"),
        ("Trimmer {trimmer}", "Trimmer {trimmer", "step.3", "a brace by itself is written twice"),
        ('trimmer = "R22"\n', "", "loop.1.round.2", "the same words"),
        ('id = "left"\n', "", "loop.1.round.1", "needs an id"),
        ('name = "side"', 'name = "two words"', "loop.1.name", "one word of letters"),
    ],
)
def test_a_loop_that_does_not_work_out_is_said(old: str, new: str, field: str, says: str) -> None:
    found = problems(LOOPED.replace(old, new))
    assert any(where == field and says in message for _, where, message in found), found


def test_a_mistake_inside_a_loop_is_told_once_at_its_line_of_the_file() -> None:
    text = LOOPED.replace('tolerance = "0.1 dB"', 'tolerance = "0.1 xB"')
    found = problems(text)
    line = (HEAD + text).splitlines().index('tolerance = "0.1 xB"') + 1
    assert [(at, field) for at, field, _ in found] == [(line, "step.3.tolerance")]
