"""A kit for whoever writes a driver: what every driver must hold, and fakes to write its own tests with.

    SPECIMEN = Specimen(driver=driver, rows=[Row("1.5 V", b"...", [Shown(value=1.5)]), ...])

    @pytest.mark.parametrize("check", CHECKS.values(), ids=CHECKS)
    def test_the_driver_conforms(check: Check) -> None:
        check(SPECIMEN)

or, without a test runner, `python -m meterlog.testing my_package.my_tests:SPECIMEN`. A check says by an
AssertionError what is wrong, in words. `docs/drivers.md` shows it all by an example.

    FakeClock, FakeWire, Stage    no time passes, every delay is exact
    Terminal, Instrument, Cable   a real pseudo-terminal, a TCP instrument, a cable that can be pulled
    Witness, HURRIED              hears a link
"""

from meterlog.testing.cable import Cable
from meterlog.testing.checks import CHECKS, Check
from meterlog.testing.clock import FakeClock
from meterlog.testing.instrument import Instrument
from meterlog.testing.numbered import Numbered
from meterlog.testing.run import failures
from meterlog.testing.specimen import Answers, Row, Shown, Specimen
from meterlog.testing.stage import Stage
from meterlog.testing.terminal import Terminal
from meterlog.testing.wire import Chunks, FakeWire, FarEnd
from meterlog.testing.witness import HURRIED, PATIENCE_S, Witness

__all__ = [
    "CHECKS",
    "HURRIED",
    "PATIENCE_S",
    "Answers",
    "Cable",
    "Check",
    "Chunks",
    "FakeClock",
    "FakeWire",
    "FarEnd",
    "Instrument",
    "Numbered",
    "Row",
    "Shown",
    "Specimen",
    "Stage",
    "Terminal",
    "Witness",
    "failures",
]
