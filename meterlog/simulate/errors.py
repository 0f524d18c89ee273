"""The simulated bench's own error."""

from meterlog.errors import MeterlogError


class SimulateError(MeterlogError):
    """Something asked of the simulated bench that it cannot do; the text says what would work."""
