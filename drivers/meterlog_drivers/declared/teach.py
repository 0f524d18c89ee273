"""Finding out which bit of a frame is which segment: from frames, and what the display showed with each.

Pure. Each bit that could be an element of the display is lit exactly where the element was. So every example
rules bits out; what is left is told, and where several elements were always lit together, that they cannot be
told apart yet. What an element is called, and how a map is written: docs/dialects.md.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from meterlog_drivers.declared.display_model import CHARACTERS, SEGMENTS, WORDS, Position
from meterlog_drivers.declared.display_read import on

Element = str
""" "digit.2.a", "digit.1.point", "annunciators.minus": as it stands in a map's file."""
Pattern = tuple[bool | None, ...]
"""Of an element, whether it was lit in each example; None where displays differ in how they draw."""


_ALSO_DRAWN = {"6": ["cdefg"], "9": ["abcfg"]}
"""As some displays do; a map says so in [characters]."""


@dataclass(frozen=True, slots=True)
class Example:
    """One frame, and the display at that moment: "-12.34 mV DC", "_0L_ ohm auto".

    First the digits, _ for a dark one, then all annunciators that are lit, by their names in a map's file.
    Digits that are not written are dark ones on the left.
    """

    frame: bytes
    shown: str


@dataclass(frozen=True, slots=True)
class Lesson:
    """What the examples tell.

    found       elements for which one bit alone is left
    open        the others, with the bits that are left for them
    impossible  elements for which none is: an example was typed wrong, or the display draws otherwise
    unexplained bits that changed and can be no element that was named
    index       whether the high nibble of each byte is its place
    """

    found: Mapping[Element, Position] = field(default_factory=dict)
    open: Mapping[Element, tuple[Position, ...]] = field(default_factory=dict)
    impossible: tuple[Element, ...] = ()
    unexplained: tuple[Position, ...] = ()
    index: bool = False


def learn(examples: Sequence[Example], digits: int) -> Lesson:
    """digits: how many the display has. ValueError: what of an example cannot be, counted from 1."""
    if len({len(example.frame) for example in examples}) > 1:
        lengths = ", ".join(str(len(example.frame)) for example in examples)
        raise ValueError(f"the frames are not of one length: {lengths} bytes")
    if not examples:
        return Lesson()
    lit = [_lit(number, example.shown, digits) for number, example in enumerate(examples, 1)]
    index = all(_is_indexed(example.frame) for example in examples)
    bits = {
        position: tuple(on(example.frame, position) for example in examples)
        for position in _positions(len(examples[0].frame), 4 if index else 8)
    }
    left = {
        element: {position for position, seen in bits.items() if _agree(pattern, seen)}
        for element, pattern in _patterns(lit).items()
    }
    _rule_out(left)
    explained = set().union(*left.values())
    return Lesson(
        found={element: next(iter(places)) for element, places in left.items() if len(places) == 1},
        open={element: tuple(sorted(places)) for element, places in left.items() if len(places) > 1},
        impossible=tuple(element for element, places in left.items() if not places),
        unexplained=tuple(p for p, seen in bits.items() if p not in explained and len(set(seen)) > 1),
        index=index,
    )


def alike(examples: Sequence[Example], digits: int) -> list[list[Element]]:
    """Elements that were lit in the same examples: to tell them apart, show what they differ in."""
    groups: dict[Pattern, list[Element]] = {}
    lit = [_lit(number, example.shown, digits) for number, example in enumerate(examples, 1)]
    for element, pattern in _patterns(lit).items():
        groups.setdefault(pattern, []).append(element)
    return [group for group in groups.values() if len(group) > 1]


def _rule_out(left: dict[Element, set[Position]]) -> None:
    """A bit that is the only one left for an element is no other element."""
    settled: set[Position] = set()
    while fresh := {next(iter(p)) for p in left.values() if len(p) == 1} - settled:
        settled |= fresh
        for places in left.values():
            if len(places) > 1:
                places.difference_update(fresh)


def _agree(pattern: Pattern, seen: tuple[bool, ...]) -> bool:
    return all(wanted is None or wanted == was for wanted, was in zip(pattern, seen, strict=True))


def _patterns(lit: Sequence[Mapping[Element, bool | None]]) -> dict[Element, Pattern]:
    """An annunciator that an example does not name was dark in it."""
    elements = list(dict.fromkeys(element for one in lit for element in one))
    return {element: tuple(one.get(element, False) for one in lit) for element in elements}


def _positions(length: int, bits: int) -> Iterable[Position]:
    return ((place, bit) for place in range(length) for bit in range(bits))


def _is_indexed(frame: bytes) -> bool:
    return len(frame) < 16 and all(byte >> 4 == place for place, byte in enumerate(frame, start=1))


def _lit(number: int, shown: str, digits: int) -> dict[Element, bool | None]:
    """Every segment of every digit, every point but the last, the minus, the annunciators that are named."""
    figures, *words = shown.split() or [""]
    minus = figures.startswith("-") and any(letter.isdigit() for letter in figures)
    figures = figures[1:] if minus else figures
    whole, _, behind = figures.partition(".")
    letters = (whole + behind).replace("_", " ").rjust(digits)
    if len(letters) > digits or "." in behind:
        raise ValueError(f"example {number}: {shown!r} does not fit into {digits} digits and one point")
    lit: dict[Element, bool | None] = {"annunciators.minus": minus}
    for place, letter in enumerate(letters, 1):
        lit |= {f"digit.{place}.{name}": state for name, state in _segments(number, letter).items()}
        if place < digits:
            lit[f"digit.{place}.point"] = bool(behind) and place == digits - len(behind)
    return lit | {f"annunciators.{name}": True for word in words for name in _named(number, word)}


def _segments(number: int, letter: str) -> dict[str, bool | None]:
    drawings = CHARACTERS.get(letter, []) + _ALSO_DRAWN.get(letter, [])
    if not drawings:
        raise ValueError(f"example {number}: {letter!r} is none of {''.join(CHARACTERS).strip()} and _")
    states = {name: {name in drawing for drawing in drawings} for name in SEGMENTS}
    return {name: None if len(either) == 2 else True in either for name, either in states.items()}


def _named(number: int, word: str) -> list[str]:
    """ "mV" are two annunciators, "DC" is "dc"."""
    for names in ([word], [word.lower()], [word[:1], word[1:]]):
        if all(name in WORDS for name in names):
            return names
    raise ValueError(f"example {number}: {word!r} is no annunciator; annunciators are {', '.join(WORDS)}")


def draft(lesson: Lesson, name: str, length: int, digits: int) -> str:
    """What was learnt as the beginning of a map's file; what is still open stands in it as remarks."""
    head = f'[dialect]\nname = "{name}"\nsource = "learnt from frames"\n\n[frame]\nlength = {length}\n'
    figures = [
        "[[digit]]\n" + _entries(lesson, f"digit.{number}.", (*SEGMENTS, "point"))
        for number in range(1, digits + 1)
    ]
    words = "[annunciators]\n" + _entries(lesson, "annunciators.", WORDS)
    return "\n".join([f"{head}index = {str(lesson.index).lower()}\n", *figures, words])


def _entries(lesson: Lesson, prefix: str, names: Iterable[str]) -> str:
    lines = []
    for name in names:
        element, key = prefix + name, name if name.isalnum() else f'"{name}"'
        if element in lesson.found:
            lines.append(f"{key} = {[*lesson.found[element]]}\n")
        elif element in lesson.open or element in lesson.impossible:
            left = ", ".join(str([*place]) for place in lesson.open.get(element, ())) or "none"
            lines.append(f"# {key}: left are {left}\n")
    return "".join(lines)
