"""Whether a bench offers what a procedure asks of it."""

from meterlog.bench import FUNCTION_UNITS, Bench
from meterlog.bench import Channel as Offered
from meterlog.daemon.errors import Refusal
from meterlog.procedure import Procedure
from meterlog.procedure.model import Channel as Wanted
from meterlog.reading import Coupling


def require_fit(bench: Bench, procedure: Procedure) -> None:
    """Refusal with one problem for each channel that is missing or measures something else.

    Where the procedure states no coupling, any will do.
    """
    offered = {channel.name: channel for channel in bench.channels}
    checked = [_misfit(wanted, offered.get(wanted.name)) for wanted in procedure.channels]
    problems = tuple(problem for problem in checked if problem)
    if problems:
        raise Refusal(
            422,
            f"The bench {bench.name!r} does not fit {procedure.title!r}: {'; '.join(problems)}.",
            "bench file",
            "Change the channels there, or choose another procedure.",
            problems,
        )


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
