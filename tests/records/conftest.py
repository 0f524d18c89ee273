"""A migrated database in a folder of its own, and a writer on it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine

from meterlog.records import Writer, migrate, open_engine


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    engine = open_engine(tmp_path / "record.sqlite3")
    migrate(engine)
    yield engine
    engine.dispose()


@pytest.fixture
def writer(engine: Engine) -> Iterator[Writer]:
    writer = Writer(engine, retry_s=0.05)
    yield writer
    writer.close()
