"""The driver holds what meterlog asks of drivers."""

import pytest
from specimen import SPECIMEN

from meterlog.testing import CHECKS, Check


@pytest.mark.parametrize("check", CHECKS.values(), ids=CHECKS)
def test_it_conforms(check: Check) -> None:
    check(SPECIMEN)
