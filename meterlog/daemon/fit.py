"""Whether a bench offers what a procedure asks of it, and can do it, as far as that is known."""

from collections.abc import Iterator

from meterlog.bench import FUNCTION_UNITS, Bench
from meterlog.bench import Channel as Offered
from meterlog.daemon.errors import Refusal
from meterlog.files import Problem, Severity
from meterlog.procedure import Finding, Procedure, meter_findings, point_at, warnings_in
from meterlog.procedure.model import Channel as Wanted
from meterlog.reading import Coupling


def require_fit(bench: Bench, procedure: Procedure) -> None:
    """Refusal with one problem for each channel that is missing or measures something else, and for each
    step that its meter cannot do.

    Where the procedure states no coupling, any will do.
    """
    problems = tuple(found.message for found in _misfits(bench, procedure))
    problems += tuple(map(str, _errors(_of_meters(bench, procedure, procedure.title))))
    if problems:
        raise Refusal(
            422,
            f"The bench {bench.name!r} does not fit {procedure.title!r}: {'; '.join(problems)}.",
            "bench file",
            "Change the channels there, or choose another procedure.",
            problems,
        )


def problems_on(bench: Bench, procedure: Procedure, file: str) -> list[Problem]:
    """Errors and warnings of a procedure on this bench; `file` is the name that messages show."""
    misfits = point_at(_misfits(bench, procedure), procedure.text, file)
    return [*misfits, *_of_meters(bench, procedure, file)]


def warnings_before(bench: Bench, procedure: Procedure, file: str) -> list[str]:
    """What a person should know before a session begins, of the file itself and of this bench."""
    found = [*warnings_in(procedure, file), *problems_on(bench, procedure, file)]
    return [str(problem) for problem in found if problem.severity is Severity.WARNING]


def _of_meters(bench: Bench, procedure: Procedure, file: str) -> list[Problem]:
    return point_at(meter_findings(procedure, bench.in_use()), procedure.text, file)


def _errors(problems: list[Problem]) -> list[Problem]:
    return [problem for problem in problems if problem.severity is Severity.ERROR]


def _misfits(bench: Bench, procedure: Procedure) -> Iterator[Finding]:
    offered = {channel.name: channel for channel in bench.channels}
    for index, wanted in enumerate(procedure.channels):
        if misfit := _misfit(wanted, offered.get(wanted.name)):
            yield Finding(("channel", index, "name"), misfit)


def _misfit(wanted: Wanted, offered: Offered | None) -> str:
    asked = f"channel {wanted.name!r}: wanted {_words(wanted.unit, wanted.coupling)}"
    if offered is None:
        return f"{asked}, the bench has no such channel"
    unit = FUNCTION_UNITS[offered.function]
    if wanted.unit == unit and wanted.coupling in (offered.coupling, Coupling.NONE):
        return ""
    return f"{asked}, the bench offers {_words(unit, offered.coupling)}"


def _words(unit: str, coupling: str) -> str:
    return f"{unit} {coupling}".strip()
