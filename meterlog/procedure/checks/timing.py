"""Times that ask for the impossible."""

from collections.abc import Iterator

from meterlog.procedure.checks.finding import Finding, all_parts
from meterlog.procedure.model import Procedure

_ASKED = {
    "dwell": "nothing settles in no time; write how long a value must stay, such as 1 s",
    "hold": "no time proves nothing; write how long the level must stay with the tool away, such as 1 s",
}


def impossible(procedure: Procedure) -> Iterator[Finding]:
    for place, part in all_parts(procedure):
        for field, message in _ASKED.items():
            if getattr(part, field, None) == 0.0:
                yield Finding((*place, field), message)
