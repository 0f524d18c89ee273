"""What a report states of itself, beside its results: ISO/IEC 17025:2017, 7.8.2 and 7.8.4 ask for it."""

from collections.abc import Iterable, Iterator

from meterlog.report.decision_words import rule_text
from meterlog.report.model import Header, MeterUsed, Statements
from meterlog.report.session import Session

_COVERAGE = (
    "± is the expanded uncertainty: the standard uncertainty of the settled value times the coverage "
    "factor k stated with it, for a coverage probability of 95.45 % (JCGM 100:2008, G.6.4), or of 95 % "
    "where one source with known bounds outweighs all others (k = 1.65; EA-4/02, S9). It covers the "
    "spread of the readings, their drift, the size of one count of the display, the bounds that the "
    "procedure states for what is read by eye or computed with, and what the specification of the meter "
    "grants it in gain, offset and load on the point. What values have in common falls out of their "
    "comparison: the gain of one meter on one range is no part of the uncertainty of a ratio, or of a "
    "value whose window lies about another one."
)
_NO_SPECIFICATION = (
    "No specification is on record for {meters}: of what these showed the uncertainty is that of the "
    "readings alone, without the accuracy of the meter."
)
_NOT_COVERED = "It does not cover leads, the source, or the temperature of the place."
_ITEM_ONLY = (
    "The results relate only to the unit named above, in the condition described, at the time of the "
    "work. A verdict is about the windows of the procedure alone: whether the unit may be used is for "
    "qualified people to judge, by the rules of the place."
)
_CONDITIONS = (
    "Temperature and humidity of the place are not recorded; where a specification has limits for them, "
    "they are taken to have been kept. Warming up and other preparations are in the course of the "
    "session."
)
_TRACEABLE = (
    "Traceability rests on the calibrations of the meters named here, as their owner states them; the "
    "certificates are not part of this record."
)


def statements_of(session: Session, header: Header, meters: Iterable[MeterUsed]) -> Statements:
    bare = [meter.name for meter in meters if not meter.specification]
    parts = [_COVERAGE, _NO_SPECIFICATION.format(meters=", ".join(bare)) if bare else "", _NOT_COVERED]
    return Statements(
        decision_rule=rule_text(session.procedure.rule),
        coverage=" ".join(part for part in parts if part),
        item_only=_ITEM_ONLY,
        conditions=_CONDITIONS,
        traceability=_TRACEABLE,
        left_out=tuple(_left_out(header)),
    )


def _left_out(header: Header) -> Iterator[str]:
    """What a report for a customer carries (7.8.2.1) and this record does not tell."""
    if not header.laboratory.name:
        yield "name and address of the laboratory"
    if not header.customer:
        yield "the customer"
    if not header.operator:
        yield "who did the work"
    yield "the day the unit was received"
    yield "temperature and humidity"
