"""Numbers the settled values of a session and knows which one a redo replaces."""

from meterlog.accuracy import expanded_uncertainty
from meterlog.procedure.events import Role, SettledValue
from meterlog.procedure.model import Procedure
from meterlog.procedure.patterns import Capture
from meterlog.procedure.plan import PlannedStep
from meterlog.quantity import Unit

NS = 1e-9
_ONE_READING_DEGREES = 1.0  # of freedom, for a value that one reading supports: an extremum passed in motion


class Ledger:
    """Turns captures into settled values, in the order in which they come."""

    def __init__(self, procedure: Procedure) -> None:
        self._procedure = procedure
        self._count = 0
        self._latest: dict[tuple[int, str, Role], tuple[int, int]] = {}

    def settle(self, capture: Capture, planned: PlannedStep, attempt: int, at_ns: int) -> SettledValue:
        """The next settled value: the capture with its place, number and expanded uncertainty."""
        settlement = capture.settlement
        assert settlement.value is not None
        assert settlement.standard_uncertainty is not None
        degrees = settlement.degrees_of_freedom or _ONE_READING_DEGREES
        expanded, factor = expanded_uncertainty(settlement.standard_uncertainty, degrees)
        self._count += 1
        return SettledValue(
            number=self._count,
            place=planned.place,
            step=planned.step.id,
            condition=capture.condition,
            pass_=planned.pass_,
            role=capture.role,
            channel=capture.channel,
            value=settlement.value,
            unit=self._unit(capture),
            standard_uncertainty=settlement.standard_uncertainty,
            degrees_of_freedom=degrees,
            expanded_uncertainty=expanded,
            coverage_factor=factor,
            readings=settlement.readings,
            since_ns=at_ns if settlement.since_s is None else round(settlement.since_s / NS),
            at_ns=at_ns,
            target=capture.target,
            low=capture.low,
            high=capture.high,
            verdict=capture.verdict,
            round=capture.round,
            attempt=attempt,
            replaces=self._replaced(capture, planned.place, attempt),
        )

    def _unit(self, capture: Capture) -> Unit:
        """A value of no channel carries its unit itself."""
        return self._procedure.channel(capture.channel).unit if capture.unit is None else capture.unit

    def _replaced(self, capture: Capture, place: int, attempt: int) -> int | None:
        """The number that was taken for this role before, in an earlier attempt at this place or, where
        the capture is one taken again, in this; this one takes its stead."""
        key = (place, capture.condition, capture.role)
        earlier_attempt, earlier_number = self._latest.get(key, (attempt, 0))
        self._latest[key] = (attempt, self._count)
        return earlier_number if earlier_attempt < attempt or capture.again else None
