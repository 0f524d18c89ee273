"""The JSON Schema of procedure files, made from the model, for editors.

The model describes a file with its loops written out. What a person writes has loops, and {word} in the
texts of steps: that is added here.
"""

from collections.abc import Iterator
from typing import Any

from meterlog.procedure.model import Procedure

Schema = dict[str, Any]

_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_NOT_IN_THE_FILE = ("text", "digest")
_SHORT = {"Source": "step"}
"""Tables of which this one field may be written alone, as a text."""
_WORD = r"\{[A-Za-z_][A-Za-z0-9_]*\}"
_NAME: Schema = {"type": "string", "pattern": "^[A-Za-z_][A-Za-z0-9_]*$"}
_LOOP: Schema = {
    "type": "object",
    "description": "Steps that are the same for each channel, speed or range; see `loop` of a step.",
    "properties": {
        "name": _NAME,
        "round": {
            "type": "array",
            "minItems": 1,
            "items": {
                "type": "object",
                "description": "An id, and the words that stand for {word} in the steps.",
                "properties": {"id": {"type": "string"}, "title": {"type": "string"}},
                "required": ["id"],
                "additionalProperties": {"type": "string"},
            },
        },
    },
    "required": ["name", "round"],
    "additionalProperties": False,
}
_IN_LOOPS: Schema = {
    "description": "The loop it is written once for each round of; a list nests loops, the first outermost.",
    "anyOf": [_NAME, {"type": "array", "items": _NAME, "minItems": 1}],
}


def procedure_schema() -> Schema:
    """Of the file as it is written."""
    made = Procedure.model_json_schema()
    definitions, properties = made["$defs"], made["properties"]
    for name in _NOT_IN_THE_FILE:
        del properties[name]
    steps = [reference["$ref"] for reference in properties["step"]["items"]["oneOf"]]
    for name in _reached(definitions, steps):
        definitions[name] = _with_words(definitions[name])
    for name in _SHORT.keys() & definitions.keys():
        short = definitions[name]["properties"][_SHORT[name]]
        definitions[name] = {"anyOf": [short, definitions[name]]}
    for reference in steps:
        definitions[_name_in(reference)]["properties"]["loop"] = _IN_LOOPS
    properties["loop"] = {"type": "array", "items": _LOOP}
    tidy: Schema = _tidied(made)
    return {"$schema": _DIALECT, "title": "Procedure file of meterlog"} | tidy


def _name_in(reference: str) -> str:
    return reference.rpartition("/")[2]


def _reached(definitions: dict[str, Schema], references: list[str]) -> list[str]:
    """The names of all definitions that these refer to, directly or not."""
    found: list[str] = []
    waiting = [_name_in(reference) for reference in references]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.append(name)
            waiting += map(_name_in, _references_in(definitions[name]))
    return found


def _references_in(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        if isinstance(node.get("$ref"), str):
            yield node["$ref"]
        for value in node.values():
            yield from _references_in(value)
    elif isinstance(node, list):
        for value in node:
            yield from _references_in(value)


def _with_words(node: Any) -> Any:
    """What must look like something may also hold a {word}: nobody knows yet what that will be."""
    if isinstance(node, list):
        return [_with_words(value) for value in node]
    if not isinstance(node, dict):
        return node
    if isinstance(node.get("pattern"), str):
        return node | {"pattern": f"({node['pattern']})|{_WORD}"}
    if isinstance(node.get("enum"), list):
        about = {key: value for key, value in node.items() if key not in ("enum", "type")}
        choice = {"type": "string", "enum": node["enum"]}
        return about | {"anyOf": [choice, {"type": "string", "pattern": _WORD}]}
    return {key: _with_words(value) for key, value in node.items()}


def _tidied(node: Any) -> Any:
    """Without what pydantic adds for other readers: null, which TOML has not, titles, defaults as numbers."""
    if isinstance(node, list):
        return [_tidied(value) for value in node]
    if not isinstance(node, dict):
        return node
    kept = {key: value for key, value in node.items() if key not in ("title", "discriminator", "default")}
    kept = {
        key: _fields(value) if key in ("properties", "$defs") else _tidied(value)
        for key, value in kept.items()
    }
    if "anyOf" in kept:
        kept = _without_null(kept)
    return kept | _default(node, kept)


def _fields(named: dict[str, Any]) -> dict[str, Any]:
    return {name: _tidied(value) for name, value in named.items()}


def _without_null(node: Schema) -> Schema:
    choices = [choice for choice in node["anyOf"] if choice != {"type": "null"}]
    rest = {key: value for key, value in node.items() if key != "anyOf"}
    return choices[0] | rest if len(choices) == 1 else rest | {"anyOf": choices}


def _default(node: Schema, kept: Schema) -> Schema:
    """A time is a number of seconds in the model and a text in the file."""
    default = node.get("default")
    if isinstance(default, float) and kept.get("type") == "string":
        return {"default": f"{default:g} s"}
    return {"default": default} if isinstance(default, str | int) and default != "" else {}
