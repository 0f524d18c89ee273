"""Loops of a procedure file, written out: steps that are the same for every channel, speed or range.

A loop names its rounds; each round has an `id` and whatever words the steps need. A step with `loop = "side"`
is written once for each round, steps next to each other together: all of them for the first round, then all
for the second. In every text of such a step {word} stands for the round's word and {side} for its id; the
step's own id and title get the round's id and title added. A list of loops nests them, the first outermost.
"""

import re
import string
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, product
from typing import Any, TypeGuard

from meterlog.files import FileError, Problem

Words = dict[str, str]
_ID = re.compile(r"[a-z0-9-]+")


@dataclass(frozen=True, slots=True)
class Written:
    """`data` with every loop written out; `origins` tells from which step of the file each one comes."""

    data: dict[str, Any]
    origins: tuple[int, ...]


def write_out(data: dict[str, Any], text: str, file: str) -> Written:
    """What is no list of tables stays. FileError, with every problem, for a loop that does not work out."""
    steps, loops = data.get("step"), data.get("loop", [])
    if not _are_tables(steps) or not _are_tables(loops):
        return Written(data, tuple(range(len(steps) if isinstance(steps, list) else 0)))
    problems = [Problem.at(place, what, text, file) for place, what in _amiss(steps, loops)]
    if problems:
        raise FileError(problems)
    rounds = {loop["name"]: loop["round"] for loop in loops}
    written = list(_written(steps, rounds, text, file))
    rest = {key: value for key, value in data.items() if key != "loop"}
    return Written({**rest, "step": [step for _, step in written]}, tuple(origin for origin, _ in written))


def _are_tables(value: object) -> TypeGuard[list[dict[str, Any]]]:
    return isinstance(value, list) and all(isinstance(item, dict) for item in value)


Place = tuple[str | int, ...]


def _amiss(steps: list[dict[str, Any]], loops: list[dict[str, Any]]) -> Iterator[tuple[Place, str]]:
    names = [loop.get("name") for loop in loops]
    for index, loop in enumerate(loops):
        yield from _loop_amiss(("loop", index), loop, names)
    for index, step in enumerate(steps):
        for name in _loops_of(step):
            if name not in names:
                known = ", ".join(map(str, names)) or "none; write [[loop]] with name and [[loop.round]]"
                yield ("step", index, "loop"), f"no loop {name!r}; there is {known}"


def unused_loops(data: dict[str, Any]) -> Iterator[tuple[Place, str]]:
    """Loops of a sound file that no step is in."""
    used = {name for step in data["step"] for name in _loops_of(step)}
    for index, loop in enumerate(data.get("loop", [])):
        if loop["name"] not in used:
            yield ("loop", index, "name"), f'no step is in this loop; write loop = "{loop["name"]}" in one'


def _loop_amiss(place: Place, loop: dict[str, Any], names: Sequence[Any]) -> Iterator[tuple[Place, str]]:
    name, rounds = loop.get("name"), loop.get("round")
    if not isinstance(name, str) or not name.isidentifier() or names.count(name) > 1:
        yield (*place, "name"), "a loop needs a name of its own, one word of letters"
    if extra := set(loop) - {"name", "round"}:
        yield place, f"no such field in a loop: {', '.join(sorted(extra))}; it has name and [[loop.round]]"
    if not _are_tables(rounds) or not rounds:
        yield place, "a loop needs rounds: [[loop.round]] with an id, and the words the steps use"
        return
    for number, words in enumerate(rounds):
        here = (*place, "round", number)
        yield from _id_amiss(here, words.get("id"), [earlier.get("id") for earlier in rounds[:number]])
        if _words_of(words) != _words_of(rounds[0]):
            yield here, f"every round must have the same words: {', '.join(_words_of(rounds[0]))}"
        for key, value in words.items():
            if not isinstance(value, str):
                yield (*here, key), "write a text"


def _id_amiss(place: Place, own: object, earlier: Sequence[object]) -> Iterator[tuple[Place, str]]:
    if not isinstance(own, str):
        yield place, 'a round needs an id, such as id = "left"'
    elif not _ID.fullmatch(own):
        yield (*place, "id"), f"{own!r} becomes part of ids; write small letters, digits and hyphens"
    elif own in earlier:
        yield (*place, "id"), f"another round is {own!r} already; rename one of them"


def _words_of(one: dict[str, Any]) -> list[str]:
    return sorted(set(one) - {"id", "title"})


def _loops_of(step: dict[str, Any]) -> tuple[str, ...]:
    named = step.get("loop", ())
    return (named,) if isinstance(named, str) else tuple(named) if isinstance(named, list) else ()


def _written(
    steps: list[dict[str, Any]], rounds: dict[str, list[Words]], text: str, file: str
) -> Iterator[tuple[int, dict[str, Any]]]:
    """(place in the file, step) in the order in which they are run."""
    for names, group in groupby(enumerate(steps), key=lambda numbered: _loops_of(numbered[1])):
        body = list(group)
        if not names:
            yield from body
            continue
        for chosen in product(*(rounds[name] for name in names)):
            for index, step in body:
                try:
                    yield index, _for_round(step, dict(zip(names, chosen, strict=True)))
                except _NoWord as error:
                    raise FileError([Problem.at(("step", index), str(error), text, file)]) from error


def _for_round(step: dict[str, Any], chosen: dict[str, Words]) -> dict[str, Any]:
    words = {key: one[key] for one in chosen.values() for key in _words_of(one)}
    words |= {name: one["id"] for name, one in chosen.items()}
    written = {key: _filled(value, words) for key, value in step.items() if key != "loop"}
    ids = [one["id"] for one in chosen.values()]
    titles = [one.get("title", one["id"]) for one in chosen.values()]
    if isinstance(written.get("id"), str):
        written["id"] = "-".join([written["id"], *ids])
    if isinstance(written.get("title"), str):
        written["title"] = f"{written['title']}: {', '.join(titles)}"
    return written


class _NoWord(Exception):  # noqa: N818 - caught above, never seen
    pass


def _filled(value: Any, words: Words) -> Any:
    """Texts with the round's words in place of {word}; lists and tables all the way down."""
    if isinstance(value, list):
        return [_filled(item, words) for item in value]
    if isinstance(value, dict):
        return {key: _filled(item, words) for key, item in value.items()}
    return _text(value, words) if isinstance(value, str) else value


def _text(text: str, words: Words) -> str:
    try:
        named = [name for _, name, _, _ in string.Formatter().parse(text) if name is not None]
    except ValueError as error:
        raise _NoWord(f"{text!r}: {error}; a brace by itself is written twice, {{{{") from error
    for name in named:
        if name not in words:
            raise _NoWord(f"{text!r}: no word {{{name}}} in the loop; there is {', '.join(sorted(words))}")
    return text.format_map(words)
