"""From a step of the file to the pattern that runs it: one registration for each kind of step."""

from dataclasses import dataclass, field
from functools import singledispatch

from meterlog.procedure.events import Pass, SettledValue
from meterlog.procedure.known import Known
from meterlog.procedure.model import Guard
from meterlog.procedure.model.base import Source
from meterlog.procedure.patterns.base import Pattern
from meterlog.procedure.patterns.ruling import Ruling


@dataclass(frozen=True, slots=True)
class Moment:
    """When a pattern is made: in which pass, what is known by then, which guards watch the step, and what the
    decision rule will say."""

    pass_: Pass
    known: Known
    guards: tuple[Guard, ...] = ()
    ruling: Ruling = field(default_factory=Ruling)

    @property
    def looking(self) -> bool:
        """As found and as left only look; the adjust pass runs the step as the file says."""
        return self.pass_ is not Pass.ADJUST

    def value_at(self, source: Source) -> SettledValue:
        """What the step rests on. A step without it never gets a pattern of its own."""
        value = self.known.value_at(source, self.pass_)
        assert value is not None
        return value


@singledispatch
def pattern_for(step: object, moment: Moment) -> Pattern:
    """The pattern for one attempt at `step`, its offsets made levels before."""
    raise NotImplementedError(f"no pattern is registered for {type(step).__name__}")
