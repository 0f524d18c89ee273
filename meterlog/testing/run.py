"""All checks on one specimen, one after the other."""

from collections.abc import Iterator

from meterlog.testing.checks import CHECKS
from meterlog.testing.specimen import Specimen


def failures(specimen: Specimen) -> Iterator[tuple[str, str]]:
    """The words of each check, and what it found wrong; "" for nothing."""
    for words, check in CHECKS.items():
        try:
            check(specimen)
        except AssertionError as fault:
            yield words, str(fault)
        else:
            yield words, ""
