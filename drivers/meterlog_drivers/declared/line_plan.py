"""What the settings ask of a meter that speaks in lines, held against its file."""

from collections.abc import Iterator
from dataclasses import dataclass

from meterlog.reading import Coupling, Settings, Wanted
from meterlog_drivers.declared.described import Described, described_by
from meterlog_drivers.declared.line_file import load_lines
from meterlog_drivers.declared.line_model import Answer, Command, Tables
from meterlog_drivers.declared.meaning import Meaning, parse_meaning
from meterlog_drivers.declared.template import Template
from meterlog_drivers.displays import insist_on_main, refuse_third

KIND = "answer"
"""The table that only such a file has."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What the settings ask of the meter that the file describes."""

    described: Described[Tables]
    commands: tuple[Command, ...]
    selected: dict[int, Meaning]

    @property
    def tables(self) -> Tables:
        return self.described.tables


def plan_of(settings: Settings) -> Plan:
    """ValueError: what of the file or of the settings is not possible, and what would be."""
    described = described_by(settings.dialect, KIND, load_lines)
    _refuse_what_no_dialect_sets(settings)
    tables = described.tables
    refuse_third(settings.displays)
    if tables.select:
        insist_on_main(settings.displays)
    commands, selected = [*tables.ask.start] if tables.ask else [], dict[int, Meaning]()
    for display, wanted in _by_display(settings).items():
        if choices := tables.select if display == 1 else tables.select2:
            words = _chosen(wanted, choices)
            commands += choices[words]
            selected[display] = parse_meaning(words).whole()
        _insist_that_it_is_shown(display, wanted, tables)
    return Plan(described, tuple(commands), selected)


def _by_display(settings: Settings) -> dict[int, Wanted]:
    """Where nothing is selected for the main display, the second one may be read alone."""
    first = {settings.displays[0]: Wanted(settings.function, settings.coupling)}
    return first | ({2: settings.second} if settings.second else {})


def _refuse_what_no_dialect_sets(settings: Settings) -> None:
    if settings.range_max is not None or settings.ac_filter_hz is not None:
        raise ValueError(
            "a dialect sets neither range nor ac_filter: remove them from the channel, and choose them at "
            "the meter or by a command in [ask] start"
        )
    unknown = sorted(set(settings.options) - {"identity"})
    if unknown:
        raise ValueError(f"no option {', '.join(unknown)}; the ascii driver knows only identity")


def _chosen(wanted: Wanted, choices: dict[str, list[Command]]) -> str:
    for words in choices:
        meaning = parse_meaning(words).whole()
        if meaning.function == wanted.function and meaning.coupling == wanted.coupling:
            return words
    raise ValueError(f'the dialect selects no "{_words(wanted)}"; it selects {", ".join(choices)}')


def _insist_that_it_is_shown(display: int, wanted: Wanted, tables: Tables) -> None:
    """A channel that can never get a reading is a mistake to be told at once."""
    suffix = "" if display == 1 else "2"
    shapes = [one for one in tables.shapes() if "number" + suffix in one[1].fields]
    if not shapes:
        raise ValueError(f"the dialect's lines have no {{number{suffix}}}: this meter has one display")
    shown = {one.function for shape in shapes for one in _meanings(*shape, suffix, tables)}
    if not shown:
        raise ValueError(
            f'the dialect does not say what its numbers are; write means{suffix} = "V dc" into [[answer]]'
        )
    if wanted.function not in shown and "" not in shown:
        raise ValueError(f'the dialect shows no "{wanted.function}"; it shows {", ".join(sorted(shown))}')


def _meanings(answer: Answer, template: Template, suffix: str, tables: Tables) -> Iterator[Meaning]:
    """All that a reading of this shape may be."""
    if "function" in template.fields and not suffix:
        yield from (one.whole() for one in tables.functions.values())
    if "unit" + suffix in template.fields:
        yield from (one.whole() for one in tables.units.values())
    fixed = answer.means2 if suffix else answer.means
    if isinstance(fixed, Meaning):
        yield fixed.whole()
    elif fixed:
        yield from (parse_meaning(words).whole() for words in (tables.select2 if suffix else tables.select))


def _words(wanted: Wanted) -> str:
    return f"{wanted.function} {wanted.coupling}" if wanted.coupling is not Coupling.NONE else wanted.function
