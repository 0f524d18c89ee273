"""What examples of a display have taught, in words, and as the beginning of a map's file. Pure."""

from collections.abc import Sequence

from meterlog.reading import Taught
from meterlog_drivers.declared.teach import Example, Lesson, alike, draft, learn


def taught(examples: Sequence[tuple[bytes, str]], digits: int, name: str) -> Taught:
    """ValueError: what of an example cannot be, counted from 1."""
    given = [Example(frame, shown) for frame, shown in examples]
    lesson = learn(given, digits)
    length = len(given[0].frame) if given else 0
    groups = alike(given, digits)
    text = "\n".join(line for line in (_counts(lesson), *map(_together, groups), *_doubts(lesson)) if line)
    whole = not lesson.open and not lesson.impossible
    return Taught(text, draft(lesson, name, length, digits), is_whole=whole)


def _counts(lesson: Lesson) -> str:
    return f"{len(lesson.found)} elements found, {len(lesson.open)} still open"


def _together(group: Sequence[str]) -> str:
    return f"always the same so far, show something in which they differ: {', '.join(group)}"


def _doubts(lesson: Lesson) -> Sequence[str]:
    """Something was typed wrong, or a sign that was lit was not named."""
    return (
        f"no bit is left for {', '.join(lesson.impossible)}: was an example typed wrong?"
        if lesson.impossible
        else "",
        f"{len(lesson.unexplained)} bits changed that are nothing which was named: is a sign missing?"
        if lesson.unexplained
        else "",
    )
