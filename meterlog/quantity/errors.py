"""What can be wrong with a quantity."""

from meterlog.errors import MeterlogError


class QuantityError(MeterlogError):
    """A text is no quantity, or a level lacks its reference; says what would be right."""
