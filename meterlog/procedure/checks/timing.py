"""Times that ask for the impossible."""

from collections.abc import Iterator

from meterlog.procedure.checks.finding import Finding, all_parts, warning
from meterlog.procedure.model import Procedure

_ASKED = {
    "time": "nothing happens in no time; write how long, such as 20 min",
    "dwell": "nothing settles in no time; write how long a value must stay, such as 1 s",
    "hold": "no time proves nothing; write how long the level must stay with the tool away, such as 1 s",
}


LONGEST_S = 600.0


def impossible(procedure: Procedure) -> Iterator[Finding]:
    for place, part in all_parts(procedure):
        for field, message in _ASKED.items():
            if getattr(part, field, None) == 0.0:
                yield Finding((*place, field), message)
        for field in ("dwell", "hold"):
            if getattr(part, field, 0.0) > LONGEST_S:
                yield warning(
                    (*place, field), f"over {LONGEST_S / 60:g} min with nothing done; look at the unit"
                )
