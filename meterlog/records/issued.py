"""The reports that were handed over: each with a number of its own, and what a later one replaces."""

from dataclasses import asdict, dataclass, fields

from sqlalchemy import Engine, insert, select
from sqlalchemy.exc import DBAPIError

from meterlog.records.engine import explain, for_writing, reading
from meterlog.records.errors import NotStored
from meterlog.records.schema import issued_reports


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedReport:
    """One that was handed over.

    number          "12-1": the first of session 12
    time_ns         UTC
    kind            report or sheet
    customer        as it stands on it
    replaces        number of the report that it stands in for, and why (`because`); both "" for a first one
    results_digest  SHA-256 of the results as recorded, file_digest: of the file itself
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


def add_issued(engine: Engine, issued: IssuedReport) -> None:
    """Return when it is on disk. NotStored: it is not; its number may be taken meanwhile."""
    try:
        with for_writing(engine).begin() as connection:
            connection.execute(insert(issued_reports).values(asdict(issued)))
    except DBAPIError as error:
        raise NotStored(f"report {issued.number} was not issued: {explain(error)}; try again") from error


def list_issued(engine: Engine) -> list[IssuedReport]:
    """All of them, in the order in which they were issued."""
    with reading(engine) as connection:
        rows = connection.execute(select(issued_reports).order_by(issued_reports.c.time_ns)).mappings()
        return [IssuedReport(**{one.name: row[one.name] for one in fields(IssuedReport)}) for row in rows]
