"""A data folder with two sessions, made up."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from meterlog.procedure import Measured
from meterlog.quantity import Unit
from meterlog.reading import Reading, State
from meterlog.records import DataFolder
from tests.report.recorded import Recorded
from tests.report.story import BEGAN_NS


def overload(session: Recorded) -> None:
    at_ns = session._at_ns
    reading = Reading(
        monotonic_ns=at_ns, value=None, unit=Unit.VOLT, state=State.OVERLOAD, channel="rail",
        time_ns=BEGAN_NS + at_ns,
    )  # fmt: skip
    session._apply(Measured(at_ns, reading))


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Session 1 has a value and has ended; session 2 has only begun."""
    path = tmp_path_factory.mktemp("data")
    engine = DataFolder(path).open()
    with Recorded(engine, batch="Kit of June") as session:
        overload(session)
        session.settle_at(15.0 + 0.02 / 3.0)
        session.go_on()
    with Recorded(engine, serial="8"):
        pass
    yield path
    engine.dispose()
