"""From a file to the description of a meter that speaks in lines, or to all that is wrong with the file."""

from collections.abc import Iterator
from pathlib import Path

from meterlog.files import Location
from meterlog_drivers.declared.described import Described, read_described
from meterlog_drivers.declared.line_model import Answer, Tables
from meterlog_drivers.declared.meaning import AS_SELECTED, parse_meaning
from meterlog_drivers.declared.template import Template, parse_template

_NEEDS = {"unit": "units", "unit2": "units", "function": "functions", "status": "status",
          "mark": "mark", "mark2": "mark"}  # fmt: skip


def load_lines(path: Path) -> Described[Tables]:
    """FileError with every problem, file:line: field: what would be right."""
    return read_described(path, Tables, _misfits)


def _misfits(tables: Tables) -> Iterator[tuple[Location, str]]:
    """What only the whole file can tell."""
    for index, answer in enumerate(tables.answers):
        for field, what in _of_answer(answer, tables):
            yield ("answer", index, field), what
    for name in ("select", "select2"):
        for words in getattr(tables, name):
            if problem := _of_selection(words):
                yield (name, words), problem
    if tables.ask is None:
        yield from _of_talker(tables)


def _of_selection(words: str) -> str:
    try:
        function = parse_meaning(words).whole().function
    except ValueError as error:
        return str(error)
    return "" if function else 'names no function; write such as "voltage dc" or "frequency"'


def _of_answer(answer: Answer, tables: Tables) -> Iterator[tuple[str, str]]:
    try:
        template = parse_template(answer.line, tuple(tables.number.words))
    except ValueError as error:
        yield "line", str(error)
        return
    yield from _of_template(template, tables)
    if tables.receive.idle is not None and not template.shaped:
        yield (
            "line",
            "needs the shape of its number, such as {number:SD.DDDD}: what a silence ends may be half a line",
        )
    for field in ("means", "means2"):
        if getattr(answer, field) == AS_SELECTED and not tables.select:
            yield field, 'nothing can be selected without [select]; write what it is, such as "V dc"'
    if answer.means2 is not None and "number2" not in template.fields:
        yield "means2", "there is no {number2} in the line; remove it"


def _of_template(template: Template, tables: Tables) -> Iterator[tuple[str, str]]:
    for field, needed in _NEEDS.items():
        if field in template.fields and not getattr(tables, needed):
            yield "line", f"{{{field}}} needs the table [{needed}]: what its words mean"


def _of_talker(tables: Tables) -> Iterator[tuple[Location, str]]:
    for name in ("select", "select2", "identify"):
        if getattr(tables, name):
            yield (name,), "needs [ask]: without it the meter talks by itself and is told nothing"
    if tables.receive.end == "none" and tables.receive.length is not None:
        yield (
            ("receive", "length"),
            ("a meter that talks by itself needs more: write how its lines end, or an idle time"),
        )
