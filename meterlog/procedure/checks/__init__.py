"""What is wrong with a procedure that only the whole file, or the bench it is to run on, can tell.

A check is a function from a procedure to findings. Errors keep it from being used; warnings are shown
before a session begins, and kept with it.
"""

from collections.abc import Iterator

from meterlog.procedure.checks import (
    cautions,
    dangers,
    guards,
    kinds,
    names,
    order,
    rules,
    sources,
    tables,
    timing,
    units,
)
from meterlog.procedure.checks.finding import Finding
from meterlog.procedure.checks.meters import meter_findings
from meterlog.procedure.model import Procedure

__all__ = ["Finding", "findings_in", "meter_findings"]

_CHECKS = (
    names.used_twice,
    names.undeclared,
    names.idle,
    units.misfits,
    units.falls,
    order.rests,
    order.guard_ranges,
    order.left_out,
    sources.sources,
    sources.units,
    sources.signatures,
    kinds.levels,
    kinds.frequencies,
    kinds.whole,
    tables.misfits,
    timing.impossible,
    cautions.missing,
    dangers.charges,
    dangers.switched_off,
    dangers.gates,
    guards.at_the_end,
    guards.at_a_level,
    rules.uncritical,
)


def findings_in(procedure: Procedure) -> Iterator[Finding]:
    """Whatever the file alone gives away."""
    for check in _CHECKS:
        yield from check(procedure)
