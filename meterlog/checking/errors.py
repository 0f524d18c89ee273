"""What can go wrong while a meter is checked."""

from meterlog.errors import MeterlogError


class CheckError(MeterlogError):
    """A points file, or a bench for it, cannot be used, or the history does not hold what was asked for."""
