"""What is wrong with a bench file, an address or a driver."""

from meterlog.errors import MeterlogError


class BenchError(MeterlogError):
    """The bench cannot be used as its file says; one line for each problem, with its place and remedy."""
