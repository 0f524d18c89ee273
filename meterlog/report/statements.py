"""What a report states of itself, beside its results: ISO/IEC 17025:2017, 7.8.2 and 7.8.4 ask for it."""

from collections.abc import Iterable, Iterator, Sequence

from meterlog.report.decision_words import rule_text
from meterlog.report.model import EnvironmentTold, Header, MeterUsed, Statements
from meterlog.report.session import Session

_COVERAGE = (
    "± is the expanded uncertainty: the standard uncertainty of the settled value times the coverage "
    "factor k stated with it, for a coverage probability of 95.45 %: 2 where the errors together are "
    "normal, less where some with known bounds outweigh the others, 1.65 where there is one alone, more "
    "for few readings (JCGM 100:2008, G.4 and G.6.5; JCGM 101:2008, 5.4). It covers the "
    "spread of the readings, their drift, the size of one count of the display, the bounds that the "
    "procedure states for what is read by eye or computed with, and what the specification of the meter "
    "grants it in gain, offset and load on the point. What values have in common falls out of their "
    "comparison: the gain of one meter on one range at one frequency is no part of the uncertainty of a "
    "ratio, or of a value whose window lies about another one."
)
_NO_SPECIFICATION = (
    "No specification is on record for {meters}: of what these showed the uncertainty is that of the "
    "readings alone, without the accuracy of the meter."
)
_NOT_COVERED = "It does not cover leads or the source."
_NOR_TEMPERATURE = "It does not cover leads, the source, or the temperature of the place."
_ITEM_ONLY = (
    "The results relate only to the unit named above, in the condition described, at the time of the "
    "work. A verdict is about the windows of the procedure alone: whether the unit may be used is for "
    "qualified people to judge, by the rules of the place."
)
_UNKNOWN = (
    "Temperature and humidity of the place are not recorded; where a specification has limits for them, "
    "they are taken to have been kept."
)
_AS_TOLD = (
    "Where the temperature told above lies beyond the limits of a specification, its temperature "
    "coefficient is in the uncertainty of every value taken from then on. Before it was first told, and "
    "for humidity, the limits are taken to have been kept."
)
_PREPARED = "Warming up and other preparations are in the course of the session."
_TRACEABLE = (
    "Traceability rests on the calibrations of the meters named here, as their owner states them; the "
    "certificates are not part of this record."
)


def statements_of(
    session: Session,
    header: Header,
    meters: Iterable[MeterUsed],
    environment: Sequence[EnvironmentTold] = (),
) -> Statements:
    bare = [meter.name for meter in meters if not meter.specification]
    warm = any(told.temperature for told in environment)
    not_covered = _NOT_COVERED if warm else _NOR_TEMPERATURE
    parts = [_COVERAGE, _NO_SPECIFICATION.format(meters=", ".join(bare)) if bare else "", not_covered]
    return Statements(
        decision_rule=rule_text(session.procedure.rule),
        coverage=" ".join(part for part in parts if part),
        item_only=_ITEM_ONLY,
        conditions=f"{_AS_TOLD if warm else _UNKNOWN} {_PREPARED}",
        traceability=_TRACEABLE,
        left_out=tuple(_left_out(header, environment)),
    )


def _left_out(header: Header, environment: Sequence[EnvironmentTold]) -> Iterator[str]:
    """What a report for a customer carries (7.8.2.1) and this record does not tell."""
    if not header.laboratory.name:
        yield "name and address of the laboratory"
    if not header.customer:
        yield "the customer"
    if not header.operator:
        yield "who did the work"
    if not header.received:
        yield "the day the unit was received"
    if not any(told.temperature for told in environment):
        yield "the temperature"
    if not any(told.humidity for told in environment):
        yield "the humidity"
