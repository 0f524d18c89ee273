"""Bringing a database to the schema of this version.

All steps run in one transaction. SQLite alters a table by copying it and dropping the old one, which with
foreign keys in force would delete every row that refers to it; so they are out of force meanwhile, and
checked, with the counts of rows, before the commit.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, func, inspect, select, table
from sqlalchemy.exc import DBAPIError

from meterlog.records.engine import database_file, driver_of, explain, for_writing, reading
from meterlog.records.errors import RecordsError

_SCRIPTS = Path(__file__).parent / "migrations"


def revision_of(engine: Engine, scripts: Path = _SCRIPTS) -> str | None:
    """The schema of a database, None where there is none yet. RecordsError: made by a newer version."""
    with reading(engine) as connection:
        revision = MigrationContext.configure(connection).get_current_revision()
    known = {script.revision for script in _scripts(scripts).walk_revisions()}
    if revision is not None and revision not in known:
        raise RecordsError(
            f"{database_file(engine)} was written by a newer version of meterlog (schema {revision}); "
            "install that version or newer, or choose another data folder"
        )
    return revision


def newest_revision(scripts: Path = _SCRIPTS) -> str | None:
    return _scripts(scripts).get_current_head()


def migrate(engine: Engine, scripts: Path = _SCRIPTS) -> None:
    """RecordsError: made by a newer version, or a step failed, and then nothing has changed."""
    revision_of(engine, scripts)
    try:
        with for_writing(engine).connect() as connection, _foreign_keys_off(connection), connection.begin():
            _upgrade(connection, scripts)
    except DBAPIError as error:
        raise RecordsError(
            f"{database_file(engine)} could not be brought to this version, and was left as it was: "
            f"{explain(error)}"
        ) from error


def _upgrade(connection: Connection, scripts: Path) -> None:
    before = _counts(connection)
    config = _config(scripts)
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    _check(connection, before)


def _check(connection: Connection, before: dict[str, int]) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    after = _counts(connection)
    lost = [name for name in before if name in after and after[name] != before[name]]
    if broken or lost:
        raise RecordsError(
            f"the change of the schema would lose rows ({', '.join(lost) or broken}); nothing was changed. "
            "Go on with the version of meterlog that you had, and report this fault"
        )


def _counts(connection: Connection) -> dict[str, int]:
    names = [name for name in inspect(connection).get_table_names() if name != "alembic_version"]
    return {name: connection.scalar(select(func.count()).select_from(table(name))) or 0 for name in names}


@contextmanager
def _foreign_keys_off(connection: Connection) -> Iterator[None]:
    """SQLite takes this only outside a transaction, so it goes to the driver past SQLAlchemy's own begin."""
    driver = driver_of(connection)
    driver.execute("PRAGMA foreign_keys = 0")
    try:
        yield
    finally:
        driver.execute("PRAGMA foreign_keys = 1")


def _scripts(scripts: Path) -> ScriptDirectory:
    return ScriptDirectory.from_config(_config(scripts))


def _config(scripts: Path) -> Config:
    config = Config()
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config
