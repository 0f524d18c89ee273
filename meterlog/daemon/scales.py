"""What each channel is shown in: as the procedure says, else as the bench says, else in its base unit."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from meterlog.procedure import Procedure
from meterlog.quantity import Scale, Unit, base_scale


@dataclass(frozen=True, slots=True)
class Scales:
    """`bench` holds the scale of each channel of the bench that states one."""

    bench: Mapping[str, Scale] = field(default_factory=dict)
    procedure: Procedure | None = None

    def of(self, channel: str, unit: Unit) -> Scale:
        """The scale for values of a channel in `unit`; one that measures another unit does not count."""
        stated = (self._of_procedure(channel), self.bench.get(channel))
        fitting = (scale for scale in stated if scale is not None and scale.unit == unit)
        return next(fitting, base_scale(unit))

    def of_step(self, step: str) -> Scale:
        """For values of a step that no channel gives."""
        steps = self.procedure.steps if self.procedure else []
        own = next((one.own_scale for one in steps if one.id == step), None)
        return own or base_scale(Unit.NONE)

    def _of_procedure(self, channel: str) -> Scale | None:
        declared = {one.name: one.show for one in self.procedure.channels} if self.procedure else {}
        return declared.get(channel)
