"""Numbers the settled values of a session, says how sure each is, judges it, and knows which one it replaces.

A value whose limits lie about another measured value is judged as compared with that one: what both have in
common, above all the error of gain of one meter on one range, is then no part of the doubt.
"""

from collections.abc import Iterable
from copy import copy
from functools import partial
from typing import NamedTuple

from meterlog.accuracy import Verdict
from meterlog.accuracy.appraisal import Appraisal, Observation
from meterlog.accuracy.budget import Budget, Uncertain
from meterlog.accuracy.decision import DecisionRule
from meterlog.accuracy.specification import Shown
from meterlog.procedure.correcting import Correcting
from meterlog.procedure.events import Beside, Origin, Role, SettledValue
from meterlog.procedure.formulas import Share, ratio_of
from meterlog.procedure.known import Known
from meterlog.procedure.model import Procedure, Rows
from meterlog.procedure.patterns import Capture
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.plan import PlannedStep
from meterlog.quantity import Unit

NS = 1e-9
_LEAST_DEGREES = 1.0  # of freedom, for a value of which they are not known


class _Entry(NamedTuple):
    """A settled value with its errors kept apart. known: how sure its meter is has been said; correction: the
    factor between what the meter showed and the value."""

    value: float
    number: Uncertain
    known: bool = True
    correction: float | None = None


class Ledger:
    """Turns captures into settled values, in the order in which they come."""

    def __init__(
        self, procedure: Procedure, appraisal: Appraisal, known: Known, correcting: Correcting
    ) -> None:
        self._procedure = procedure
        self._appraisal = appraisal
        self._known = known
        self._correcting = correcting
        self._rule: DecisionRule = procedure.rule
        self._entries: list[_Entry] = []
        self._latest: dict[tuple[int, str, Role], tuple[int, int]] = {}

    def settle(self, capture: Capture, planned: PlannedStep, attempt: int, at_ns: int) -> SettledValue:
        """The next settled value: the capture with its place, number, expanded uncertainty and verdict."""
        settlement = capture.settlement
        assert settlement.value is not None
        entry = self._entry(capture, planned)
        about = self._about(capture, planned)
        budget = self._budget(entry, capture, about)
        lower, upper = self._ends(capture, planned, budget)
        self._entries.append(entry)
        known = self._is_known(len(self._entries), about)
        return SettledValue(
            number=len(self._entries),
            place=planned.place,
            step=planned.step.id,
            condition=capture.condition,
            pass_=planned.pass_,
            role=capture.role,
            channel=capture.channel,
            value=settlement.value,
            unit=self._unit(capture),
            standard_uncertainty=budget.standard_uncertainty,
            degrees_of_freedom=budget.degrees_of_freedom,
            expanded_uncertainty=budget.expanded_uncertainty,
            coverage_factor=budget.coverage_factor,
            readings=settlement.readings,
            since_ns=at_ns if settlement.since_s is None else round(settlement.since_s / NS),
            at_ns=at_ns,
            target=capture.target,
            low=capture.low,
            high=capture.high,
            verdict=self._verdict(capture, budget, known=known),
            round=capture.round,
            attempt=attempt,
            replaces=self._replaced(capture, planned.place, attempt),
            about=about,
            budget=budget.lines,
            correction=entry.correction,
            lower=lower,
            upper=upper,
        )

    def ruling(self, planned: PlannedStep) -> Ruling:
        """What the rule will say of the values of a step."""
        asked = partial(self._guard_band, planned=planned)
        return Ruling(asked if self._rule.by_uncertainty else None)

    def _guard_band(self, captures: Iterable[Capture], planned: PlannedStep) -> float:
        """How wide it would be for the last of these, were they settled now; nothing is kept. 0.0 where it is
        not known how sure the value is."""
        trial = copy(self)
        trial._entries, trial._latest = [*self._entries], dict(self._latest)
        *_, value = (trial.settle(capture, planned, attempt=0, at_ns=0) for capture in captures)
        if not trial._is_known(value.number, value.about):
            return 0.0
        return self._rule.guard_band(
            value.low, value.high, value.standard_uncertainty, value.expanded_uncertainty
        )

    def _is_known(self, number: int, about: int | None) -> bool:
        """Whether how sure it is rests on meters that somebody has described."""
        return all(self._entries[one - 1].known for one in (number, about) if one is not None)

    def _entry(self, capture: Capture, planned: PlannedStep) -> _Entry:
        """The value with all errors that are known of it."""
        settlement = capture.settlement
        assert settlement.value is not None
        assert settlement.standard_uncertainty is not None
        if capture.shares:
            inputs = [self._input(share, planned.place) for share in capture.shares]
            shares = zip(inputs, capture.shares, strict=True)
            number = self._appraisal.computed(
                settlement.value, ((one.number, share.sensitivity) for one, share in shares)
            )
            return _Entry(settlement.value, number, all(one.known for one in inputs))
        if capture.role is Role.ENTERED:
            return self._stated(settlement.value, settlement.standard_uncertainty)
        seen = self._seen(capture, planned)
        number, known = self._appraisal.observed(seen), self._appraisal.is_known(seen)
        return _Entry(settlement.value, number, known, seen.corrected.factor if seen.corrected else None)

    def _seen(self, capture: Capture, planned: PlannedStep) -> Observation:
        settlement, step, part = capture.settlement, planned.step.id, capture.condition
        assert settlement.value is not None
        assert settlement.standard_uncertainty is not None
        shown = Shown(settlement.range_max, settlement.resolution)
        return Observation(
            channel=capture.channel,
            value=settlement.value,
            standard_uncertainty=settlement.standard_uncertainty,
            degrees_of_freedom=settlement.degrees_of_freedom or _LEAST_DEGREES,
            signal=self._correcting.signal(step, part),
            source_ohm=self._procedure.source_ohm(capture.channel),
            shown=shown,
            corrected=self._correcting.deviation(capture.channel, step, part, shown),
        )

    def _input(self, share: Share, place: int) -> _Entry:
        """What is kept of an input; one that the file states is taken as it is stated."""
        given = share.input
        number = self._number(given.origin, place)
        if number is not None:
            return self._entries[number - 1]
        return self._stated(given.value, given.standard_uncertainty)

    def _stated(self, value: float, standard_uncertainty: float) -> _Entry:
        return _Entry(value, self._appraisal.stated(value, standard_uncertainty))

    def _number(self, origin: Origin | None, place: int) -> int | None:
        """Of the settled value that an origin means; None if it means none."""
        if isinstance(origin, Beside):
            return self._latest.get((place, origin.condition, origin.role), (0, None))[1]
        return origin

    def _about(self, capture: Capture, planned: PlannedStep) -> int | None:
        """The number of the value that the limits lie about, if they lie about a measured one."""
        if capture.shares or (capture.target is None and capture.about is None):
            return None
        if capture.about is not None or isinstance(planned.step, Rows):
            return self._number(capture.about, planned.place)
        part = next(
            (one for one in getattr(planned.step, "condition", ()) if one.name == capture.condition),
            planned.step,
        )
        reference = getattr(part, "reference", None)
        value = self._known.value_of(reference, planned.pass_) if reference else None
        return value.number if value else None

    def _budget(self, entry: _Entry, capture: Capture, about: int | None) -> Budget:
        """As compared with the value that the limits lie about; target : that value is exact, 1 without."""
        if about is None or not self._entries[about - 1].value:
            return self._appraisal.budget(entry.number)
        other = self._entries[about - 1]
        ratio = 1.0 if capture.target is None else capture.target / other.value
        shares = ((entry.number, 1.0), (other.number, -ratio))
        return self._appraisal.budget(self._appraisal.computed(entry.value, shares))

    def _ends(
        self, capture: Capture, planned: PlannedStep, budget: Budget
    ) -> tuple[float, float] | tuple[None, None]:
        """Of the interval of a ratio, which its uncertainty alone does not tell."""
        parts = ratio_of(capture.shares, budget.value)
        if parts is None:
            return None, None
        of, over = (self._input(share, planned.place).number for share in parts)
        return self._appraisal.ends(budget, of, over)

    def _verdict(self, capture: Capture, budget: Budget, *, known: bool) -> Verdict:
        """A rule that goes by the uncertainty passes nothing of which the uncertainty is not known."""
        verdict = self._rule.decide(
            budget.value, capture.low, capture.high, budget.standard_uncertainty, budget.expanded_uncertainty
        )
        sure = known or not self._rule.by_uncertainty or verdict.is_failure
        return verdict if sure else Verdict.NOT_JUDGED

    def _unit(self, capture: Capture) -> Unit:
        """A value of no channel carries its unit itself."""
        return self._procedure.channel(capture.channel).unit if capture.unit is None else capture.unit

    def _replaced(self, capture: Capture, place: int, attempt: int) -> int | None:
        """The number that was taken for this role before, in an earlier attempt at this place or, where
        the capture is one taken again, in this; this one takes its stead."""
        key = (place, capture.condition, capture.role)
        earlier_attempt, earlier_number = self._latest.get(key, (attempt, 0))
        self._latest[key] = (attempt, len(self._entries))
        return earlier_number if earlier_attempt < attempt or capture.again else None
