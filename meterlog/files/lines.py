"""Where in a TOML text a value stands, so that a message can point at it.

tomllib tells the line of a syntax error but not of a value. This reads only headers and keys; it is
asked after tomllib has accepted the text, so it may rely on the text being well-formed.
"""

import re

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_.\-\"']+)\s*=")
_TRIPLE = ('"""', "'''")

Location = tuple[str | int, ...]


def find_line(text: str, path: Location) -> int:
    """1-based line of the key or table at `path`, or of the nearest enclosing one that has a line.

    `path` is a pydantic location: ("step", 2, "tolerance") is the key of the third [[step]]. Parts that
    do not stand in the file (names of union members, say) are passed over.
    """
    lines = _index(text)
    for length in range(len(path), 0, -1):
        part = path[:length]
        found = [(len(place), line) for place, line in lines if _within(place, part) or place == (*part, 0)]
        if found:
            return max(found, key=lambda one: one[0])[1]
    return 1


def _within(place: Location, path: Location) -> bool:
    """Whether `place` is `path` with nothing but non-file parts left out."""
    rest = iter(path)
    return (
        bool(place) and place[-1] == path[-1] and all(any(part == other for other in rest) for part in place)
    )


def _index(text: str) -> list[tuple[Location, int]]:
    counts: dict[Location, int] = {}
    table: Location = ()
    found: list[tuple[Location, int]] = []
    for number, line in _plain_lines(text):
        if header := _HEADER.match(line):
            table = _table(header.group(1) == "[[", _names(header.group(2)), counts)
            found.append((table, number))
        elif key := _KEY.match(line):
            found.append((table + tuple(_names(key.group(1))), number))
    return found


def _table(is_array: bool, names: list[str], counts: dict[Location, int]) -> Location:
    """The path of a header, with the index of each array of tables it lies in."""
    path: Location = ()
    for depth, name in enumerate(names):
        path += (name,)
        if is_array and depth == len(names) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path += (counts[path],)
    return path


def _names(dotted: str) -> list[str]:
    return [part.strip().strip("\"'") for part in dotted.split(".")]


def _plain_lines(text: str) -> list[tuple[int, str]]:
    """Lines outside multi-line strings, with their numbers."""
    kept: list[tuple[int, str]] = []
    closing = ""
    for number, line in enumerate(text.splitlines(), 1):
        if closing:
            closing = "" if closing in line else closing
            continue
        kept.append((number, line))
        for mark in _TRIPLE:
            if line.count(mark) == 1:
                closing = mark
    return kept
