"""What pydantic found amiss in a file, in words for the person who wrote the file."""

import re
from collections.abc import Callable, Mapping
from datetime import date, time
from difflib import get_close_matches
from typing import Any

Item = Mapping[str, Any]

_LETTERS = {r"^[a-z0-9][a-z0-9-]*$": "small letters a to z, digits and hyphens, a letter or digit first"}

_LAST_OR = re.compile(r"(?<=['\d]) or (?=['\d])")
"""Between two choices, not inside one."""


def in_words(item: Item, choices: str) -> str:
    """`choices`: the words that the key of a union may hold."""
    kind = str(item["type"])
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        return _tag(item, choices)
    begins = next((words for start, words in _BY_START if kind.startswith(start)), _as_it_says)
    return begins(item)


def _tag(item: Item, choices: str) -> str:
    tag = item.get("ctx", {}).get("tag")
    if tag is None:
        return f"missing; it is one of {choices}"
    alike = get_close_matches(tag, choices.split(", "), n=1)
    meant = f"did you mean {alike[0]!r}? " if alike else ""
    return f"no pattern {tag!r}; {meant}It must be one of {choices}"


def _as_it_says(item: Item) -> str:
    return str(item["msg"])


def _own(item: Item) -> str:
    return str(item.get("ctx", {}).get("error", item["msg"]))


def _pattern(item: Item) -> str:
    pattern = item["ctx"]["pattern"]
    return f"{_shown(item)} is not possible here; write {_LETTERS.get(pattern, pattern)}"


def _many(item: Item) -> str:
    least, name = item["ctx"]["min_length"], item["loc"][-1]
    if isinstance(item["input"], str):
        return "is empty; write a text"
    what = f"[[{name}]], or values in square brackets" if least == 1 else f"of {name}"
    return f"give at least {'one' if least == 1 else least} {what}"


def _list(item: Item) -> str:
    if isinstance(item["input"], dict):
        return f"write [[{item['loc'][-1]}]] with two brackets: there may be several"
    return f'write a list in square brackets, such as ["one", "other"], not {_shown(item)}'


def _table(item: Item) -> str:
    name = next((part for part in reversed(item["loc"]) if isinstance(part, str)), "")
    if isinstance(item["input"], list):
        return f"write [{name}] with one bracket: there is only one"
    return f"write a table with its own fields, such as [{name}], not {_shown(item)}"


def _one_of(item: Item) -> str:
    choices = _LAST_OR.sub(", ", item["ctx"]["expected"])
    return f"must be one of {choices}, not {_shown(item)}"


def _bound(words: str, key: str) -> Callable[[Item], str]:
    return lambda item: f"must be {words} {item['ctx'][key]}, not {_shown(item)}"


def _write(what: str) -> Callable[[Item], str]:
    return lambda item: f"write {what}, not {_shown(item)}"


def _shown(item: Item) -> str:
    """The value nearly as TOML writes it."""
    value = item["input"]
    text = repr(value).lower() if isinstance(value, bool) else repr(value)
    if isinstance(value, date | time):
        text = value.isoformat()
    return text if len(text) <= 60 else f"{text[:57]}..."


_BY_START: tuple[tuple[str, Callable[[Item], str]], ...] = (
    ("extra_forbidden", lambda _: "no such field here; look for a misspelling"),
    ("unexpected_keyword", lambda _: "no such field here; look for a misspelling"),
    ("missing", lambda _: "missing; it is needed here"),
    ("value_error", _own),
    ("string_pattern_mismatch", _pattern),
    ("string_too_short", lambda _: "is empty; write a text"),
    ("string_too_long", lambda item: f"is too long; write at most {item['ctx']['max_length']} characters"),
    ("string_type", _write("a text in quotes")),
    ("too_short", _many),
    ("too_long", lambda item: f"too many; give at most {item['ctx']['max_length']}"),
    ("list_type", _list),
    ("tuple_type", _list),
    ("model_", _table),
    ("dict_type", _table),
    ("literal_error", _one_of),
    ("enum", _one_of),
    ("greater_than_equal", _bound("at least", "ge")),
    ("greater_than", _bound("above", "gt")),
    ("less_than_equal", _bound("at most", "le")),
    ("less_than", _bound("under", "lt")),
    ("finite_number", _write("a finite number")),
    ("date", _write("a date without quotes, such as 2026-03-01")),
    ("int", _write("a whole number without quotes")),
    ("float", _write("a number without quotes")),
    ("bool", _write("true or false without quotes")),
)
