"""Migrations: the tables they make, and that they lose nothing when they go wrong."""

import textwrap
from pathlib import Path
from shutil import copytree

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import Engine, text

import meterlog.records
from meterlog.records import RecordsError, Writer, load_session, migrate, open_engine
from meterlog.records.engine import for_writing, reading
from meterlog.records.migrate import newest_revision, revision_of
from meterlog.records.schema import METADATA
from tests.records import samples

SCRIPTS = Path(meterlog.records.__file__).parent / "migrations"
TABLES = "SELECT name, sql FROM sqlite_master WHERE name <> 'alembic_version' AND name NOT LIKE 'sqlite_%'"


def _definitions(engine: Engine) -> dict[str, set[str]]:
    """Of each table and index, its lines as a set: constraints may stand in any order."""
    with reading(engine) as connection:
        found = connection.execute(text(TABLES)).all()
    sqls = {name: sql.replace(f'"{name}"', name) for name, sql in found}  # SQLite quotes one it has rebuilt
    return {name: {line.strip().rstrip(",") for line in sql.splitlines()} for name, sql in sqls.items()}


def test_the_migrations_make_what_the_schema_says(engine: Engine, tmp_path: Path) -> None:
    with reading(engine) as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, METADATA) == []
    direct = open_engine(tmp_path / "direct.sqlite3")
    with for_writing(direct).begin() as connection:
        METADATA.create_all(connection)
    assert _definitions(direct) == _definitions(engine)  # keys and their names, too
    direct.dispose()


def test_to_migrate_again_changes_nothing(engine: Engine) -> None:
    before = _definitions(engine)
    migrate(engine)
    assert _definitions(engine) == before


def test_a_newer_record_is_refused(engine: Engine) -> None:
    with for_writing(engine).begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0999'"))
    with pytest.raises(
        RecordsError, match=r"newer version of meterlog \(schema 0999\); install that version"
    ):
        migrate(engine)


def _with_second_step(folder: Path, body: str) -> Path:
    """The scripts of this version and one more; invented, to see what a migration can do."""
    scripts = folder / "migrations"
    copytree(SCRIPTS, scripts)
    head = (
        "import sqlalchemy as sa\nfrom alembic import op\n"
        f"revision, down_revision = '9001', '{newest_revision()}'\n"
    )
    (scripts / "versions" / "9001_another.py").write_text(
        f"{head}\ndef upgrade():\n{textwrap.indent(textwrap.dedent(body), '    ')}\n"
    )
    return scripts


@pytest.fixture
def filled(engine: Engine) -> Engine:
    writer = Writer(engine)
    session = writer.begin_session(samples.START)
    for sequence in range(1, 11):
        writer.event(session, sequence, samples.measured(sequence))
    writer.commit(session, 10, [samples.settled(1)])
    writer.close()
    return engine


def test_altering_a_parent_keeps_its_children(filled: Engine, tmp_path: Path) -> None:
    """SQLite copies the table and drops the old one: with foreign keys in force the children go with it,
    or the drop fails (sqlite.org, "ALTER TABLE", 7: making other kinds of table schema changes)."""
    scripts = _with_second_step(
        tmp_path,
        """
        with op.batch_alter_table("sessions", recreate="always") as table:
            table.alter_column("operator", nullable=True)
            table.add_column(sa.Column("place", sa.Text()))
        """,
    )
    before = load_session(filled, 1)
    migrate(filled, scripts)
    assert revision_of(filled, scripts) == "9001"
    with reading(filled) as connection:
        assert connection.execute(text("SELECT id, place FROM sessions")).all() == [(1, None)]
        assert connection.execute(text("SELECT count(*) FROM readings")).scalar_one() == 10
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar_one() == 1
        assert connection.execute(text("SELECT count(*) FROM settled_values")).scalar_one() == 1
    assert before.settled_values == (samples.settled(1),)


@pytest.mark.parametrize(
    "body",
    [
        'op.execute("DELETE FROM readings WHERE sequence = 3")',
        'op.execute("UPDATE readings SET session_id = 77")',
        'op.add_column("sessions", sa.Column("place", sa.Text()))\nop.execute("DROP TABLE absent")',
    ],
    ids=["rows lost", "parents lost", "second half fails"],
)
def test_a_step_that_would_lose_rows_or_fails_changes_nothing(
    filled: Engine, tmp_path: Path, body: str
) -> None:
    before, record = _definitions(filled), load_session(filled, 1)
    with pytest.raises(RecordsError, match=r"would lose rows \(.*readings|left as it was: no such table"):
        migrate(filled, _with_second_step(tmp_path, body))
    assert revision_of(filled) == newest_revision()
    assert _definitions(filled) == before
    assert load_session(filled, 1) == record
    with reading(filled) as connection:
        assert (
            connection.execute(text("SELECT count(*) FROM readings WHERE session_id = 1")).scalar_one() == 10
        )
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar_one() == 1


def test_the_scripts_are_within_the_package() -> None:
    """So they are in the wheel: it holds every file of the package."""
    package = Path(meterlog.records.__file__).parent
    assert (package / "migrations" / "env.py").is_file()
    assert list((package / "migrations" / "versions").glob("0001_*.py"))
