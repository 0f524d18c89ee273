"""Whether a bench offers what a procedure asks of it, and can do it, as far as that is known."""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from typing import Any

from meterlog.accuracy.fitness import Fit, Fitness
from meterlog.accuracy.risk import risk_of_ratio, worst_false_accept
from meterlog.bench import FUNCTION_UNITS, Bench
from meterlog.bench import Channel as Offered
from meterlog.daemon.errors import Refusal
from meterlog.files import Problem, Severity
from meterlog.procedure import (
    Finding,
    Procedure,
    StepFit,
    fits_of,
    meter_findings,
    point_at,
    unfit_words,
    warnings_in,
)
from meterlog.procedure.model import Channel as Wanted
from meterlog.quantity import Quantity, Unit, readable_scale
from meterlog.reading import Coupling


class NotAdequate(Refusal):
    """A meter is not good enough for a step, and nobody says why it is used all the same."""


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


def step_fits(bench: Bench, procedure: Procedure, temperature_c: float | None = None) -> list[StepFit]:
    """Steps against the meters of the bench, as old as their calibrations are today, at a temperature."""
    return fits_of(procedure, bench.in_use(), bench.conditions(datetime.now(UTC).date(), temperature_c))


def notes_of_override(
    bench: Bench,
    procedure: Procedure,
    override: str,
    temperature_c: float | None = None,
    said: Iterable[str] | None = None,
) -> list[str]:
    """What the record says where a meter is not good enough. NotAdequate 422 if nobody says why it is used.

    said: the notes of a session that is gone on with; nobody is asked again for what they tell.
    """
    unfit = [one for one in step_fits(bench, procedure, temperature_c) if one.fitness.fit is Fit.NOT_ADEQUATE]
    words = tuple(f"{place_of(one)}: {_named(one)} is not adequate, {unfit_words(one)}" for one in unfit)
    words = tuple(one for one in words if not any(f"({one})" in note for note in said or ()))
    begun = "begun" if said is None else "gone on with"
    if words and not override:
        raise NotAdequate(
            422,
            f"Not good enough for {procedure.title!r}: {'; '.join(words)}.",
            "meters",
            f"Use a better meter, or say why it is {begun} all the same (override); the report shows it.",
            words,
        )
    return [f"{begun.capitalize()} all the same: {override} ({one})" for one in words]


def place_of(fit: StepFit) -> str:
    """Which step, and which row or condition of it."""
    return f"{fit.step} {fit.part}".rstrip()


def _named(fit: StepFit) -> str:
    return repr(fit.meter) if fit.meter else f"the meter of {fit.channel!r}"


def fit_json(fit: StepFit) -> dict[str, Any]:
    """One row of the table of steps against meters, as programs and the page get it."""
    found = fit.fitness
    return {
        "step": fit.step,
        "title": fit.title,
        "part": fit.part,
        "channel": fit.channel,
        "meter": fit.meter,
        "level": None if fit.level is None else _level(fit.level),
        "frequency": None if fit.frequency_hz is None else _hertz(fit),
        "profile": fit.profile,
        "supposed": fit.supposed,
        "fit": str(found.fit),
        "ratio": None if found.ratio is None else float(f"{found.ratio:.3g}"),
        "accepted_percent": None if found.accepted is None else float(f"{100.0 * found.accepted:.3g}"),
        "false_accept_percent": _percent(_false_accept(found)),
        "worst_false_accept_percent": _percent(_worst_false_accept(found)),
        "counts": None if found.counts is None else float(f"{found.counts:.3g}"),
        "why": unfit_words(fit),
    }


def _level(level: Quantity) -> str:
    """Without the last digits of one that was calculated."""
    shown = float(f"{level.scale.from_base(level.base):.9g}")
    return str(Quantity(level.scale.to_base(shown), level.scale))


def _false_accept(found: Fitness) -> float | None:
    """Of units of which 95 % are inside, the part that the rule would pass wrongly."""
    if found.ratio is None or found.accepted is None:
        return None
    return risk_of_ratio(found.ratio, acceptance=found.accepted).false_accept


def _worst_false_accept(found: Fitness) -> float | None:
    """The same, whatever part of them is inside."""
    if found.ratio is None or found.accepted is None:
        return None
    return worst_false_accept(found.ratio, found.accepted)


def _percent(part: float | None) -> float | None:
    return None if part is None else float(f"{100.0 * part:.2g}")


def _hertz(fit: StepFit) -> str:
    assert fit.frequency_hz is not None
    shown = str(Quantity(fit.frequency_hz, readable_scale(fit.frequency_hz, Unit.HERTZ)))
    return f"{shown}, taken" if fit.assumed else shown


def _of_meters(bench: Bench, procedure: Procedure, file: str) -> list[Problem]:
    conditions = bench.conditions(datetime.now(UTC).date())
    return point_at(meter_findings(procedure, bench.in_use(), conditions), procedure.text, file)


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
