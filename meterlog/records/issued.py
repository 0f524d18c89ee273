"""The reports that were handed over: each with a number, its files, and what a later one replaces."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from sqlalchemy import Connection, Engine, insert, select
from sqlalchemy.exc import DBAPIError

from meterlog.records.engine import explain, for_writing, reading
from meterlog.records.errors import NotStored
from meterlog.records.schema import issued_files, issued_reports


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedReport:
    """One that was handed over.

    number          "12-1": the first of session 12
    time_ns         UTC
    kind            report or sheet
    customer        as it stands on it
    replaces        number of the report that it stands in for, and why (`because`); both "" for a first one
    results_digest  SHA-256 of the results as recorded, file_digest: of the file that was handed over
    forms           those that its files are kept in: html, pdf; none of one issued before files were kept
    """

    number: str
    session_id: int
    time_ns: int
    kind: str
    customer: str
    replaces: str
    because: str
    results_digest: str
    file_digest: str
    forms: tuple[str, ...] = ()


def add_issued(engine: Engine, issued: IssuedReport, files: Mapping[str, bytes]) -> None:
    """With the content of each of its forms. Return when it is on disk. NotStored: it is not; its number
    may be taken meanwhile."""
    row = asdict(issued)
    del row["forms"]  # the files say it
    kept = [{"number": issued.number, "form": form, "content": made} for form, made in files.items()]
    try:
        with for_writing(engine).begin() as connection:
            connection.execute(insert(issued_reports).values(row))
            connection.execute(insert(issued_files), kept)
    except DBAPIError as error:
        raise NotStored(f"report {issued.number} was not issued: {explain(error)}; try again") from error


def list_issued(engine: Engine) -> list[IssuedReport]:
    """All of them, in the order in which they were issued."""
    with reading(engine) as connection:
        forms = _forms(connection)
        rows = connection.execute(select(issued_reports).order_by(issued_reports.c.time_ns)).mappings()
        return [_issued(dict(row), forms) for row in rows]


def issued_file(engine: Engine, number: str, form: str) -> bytes | None:
    """Byte for byte as it was issued; None if the record does not keep it."""
    wanted = (issued_files.c.number == number) & (issued_files.c.form == form)
    with reading(engine) as connection:
        return connection.execute(select(issued_files.c.content).where(wanted)).scalar()


def standing_numbers(issued: Iterable[IssuedReport]) -> dict[int, list[str]]:
    """Of each session, the numbers of those that no other one replaces."""
    known = list(issued)
    replaced = {one.replaces for one in known}
    numbers: dict[int, list[str]] = defaultdict(list)
    for one in known:
        if one.number not in replaced:
            numbers[one.session_id].append(one.number)
    return numbers


def _forms(connection: Connection) -> dict[str, tuple[str, ...]]:
    both = issued_files.c.number, issued_files.c.form
    forms: dict[str, tuple[str, ...]] = {}
    for number, form in connection.execute(select(*both).order_by(*both)):
        forms[number] = (*forms.get(number, ()), form)
    return forms


def _issued(row: dict[str, Any], forms: Mapping[str, tuple[str, ...]]) -> IssuedReport:
    return IssuedReport(**row, forms=forms.get(row["number"], ()))
