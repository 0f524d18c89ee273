"""meterlog sessions, report, export, replay, backup: what is in the record. No daemon is needed."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from meterlog.cli.complain import NO, say
from meterlog.cli.options import Data, Output, PaperName, Session, paper_called
from meterlog.cli.said import standing
from meterlog.daemon.version import VERSION
from meterlog.records import (
    DataFolder,
    Parting,
    ReplayReport,
    SessionHeader,
    list_issued,
    list_sessions,
    partings,
    standing_numbers,
)
from meterlog.records import backup as write_backup
from meterlog.records import replay as run_replay

THIS = f"meterlog {VERSION}"
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def add_to(app: typer.Typer) -> None:
    for command in (sessions, report, export, replay, backup):
        app.command()(command)


def sessions(data: Data = None) -> None:
    """List the sessions, the newest first."""
    table = Table("session", "unit", "procedure", "operator", "began", "verdict", "issued")
    record = DataFolder(data).open_existing()
    parted, issued = partings(record), standing_numbers(list_issued(record))
    for header in list_sessions(record):
        table.add_row(*_line(header, parted.get(header.id)), ", ".join(issued.get(header.id, ())))
    Console().print(table)
    print("its report: meterlog report NUMBER; to go on with one that has not ended: meterlog resume NUMBER")


def report(
    session: Session,
    output: Output = None,
    *,
    sheet: Annotated[bool, typer.Option("--sheet", help="One page for the customer.")] = False,
    paper: PaperName = "a4",
    customer: Annotated[
        str, typer.Option(help="Name and address, in place of those kept with the session.")
    ] = "",
    issue: Annotated[bool, typer.Option("--issue", help="It is handed over: number it, keep that.")] = False,
    replaces: Annotated[
        str | None,
        typer.Option(help="Number of the report it replaces; implies --issue.", show_default=False),
    ] = None,
    because: Annotated[str, typer.Option(help="Why it replaces that one.")] = "",
    issued: Annotated[
        str | None, typer.Option(help="Number of an issued one: it again, as it was.", show_default=False)
    ] = None,
    data: Data = None,
) -> None:
    """Write the tolerance report of a session as one file: PDF if the name of --output ends so, else HTML."""
    from meterlog.report import Form, write_issued, write_report  # noqa: PLC0415 - charts are slow to load

    form = Form(
        sheet=sheet,
        paper=paper_called(paper),
        customer=customer,
        issue=issue,
        replaces=_number(replaces, "--replaces"),
        because=because,
    )
    record = DataFolder(data).open_existing()
    if again := _number(issued, "--issued"):
        _check_alone(form == Form())
        write_issued(record, session, again, path := output or Path(f"issued-{again}.html"))
        print(path)
        return
    path = output or Path(f"session-{session}{'-sheet' if sheet else ''}.html")
    number = write_report(record, session, path, form)
    print(f"{form.kind} {number}: {path}" if number else path)


def _number(given: str | None, option: str) -> str:
    """Of a report; "" where the option was not given. BadParameter for one that is given and empty."""
    if given is not None and not given.strip():
        raise typer.BadParameter("is empty; write the number of a report, such as 12-1", param_hint=option)
    return given or ""


def _check_alone(alone: bool) -> None:
    if not alone:
        raise typer.BadParameter(
            "what was issued is written as it was: only -o goes with it", param_hint="--issued"
        )


def export(
    session: Session,
    format: Annotated[  # noqa: A002 - its name on the command line
        str, typer.Option("--format", "-f", help="csv, csv-semicolon, jsonl, parquet or xlsx.")
    ] = "csv",
    readings: Annotated[bool, typer.Option("--readings", help="Also every raw reading.")] = False,
    output: Output = None,
    data: Data = None,
) -> None:
    """Write the settled values of a session as a table."""
    from meterlog.export import write_export  # noqa: PLC0415 - as above

    path = output or Path(f"session-{session}.{format.partition('-')[0]}")
    for written in write_export(DataFolder(data).open_existing(), session, format, path, readings=readings):
        print(written)


def replay(session: Session, data: Data = None) -> None:
    """Compute every result anew from the raw readings, and compare with what was stored, to the last bit."""
    found = run_replay(DataFolder(data).open_existing(), session)
    print(
        f"session {session}: {found.events} events, {found.settled_values} settled values, "
        f"{found.step_endings} steps ended"
    )
    for difference in found.differences:
        say(difference)
    if found.differences:
        say(f"recorded by {found.software}, replayed by {THIS}: {_what_differs(found)}")
        raise typer.Exit(NO)
    print("replay gives the same, to the last bit")


def _what_differs(found: ReplayReport) -> str:
    """So that a person sees whether results are in doubt, or only how sure they are."""
    every = len(found.differences)
    since = "" if found.software == THIS else ", as where they are computed otherwise since"
    if found.how_sure == every:
        return f"all values and verdicts are equal, only uncertainties and their factors (U, k) differ{since}"
    if found.how_sure:
        return f"in {found.how_sure} of {every} only uncertainties and their factors (U, k) differ{since}"
    return f"{every} {'difference' if every == 1 else 'differences'}, and not of uncertainties alone"


def backup(
    target: Annotated[Path, typer.Argument(help="The file to write; it must not exist.")], data: Data = None
) -> None:
    """Copy the whole record into one file, also while the daemon runs."""
    write_backup(DataFolder(data).open_existing(), target)
    print(target)


def _line(header: SessionHeader, parting: Parting | None) -> tuple[str, ...]:
    began = (_EPOCH + timedelta(microseconds=header.began_time_ns // 1000)).astimezone()
    return (
        str(header.id),
        f"{header.unit_model} {header.unit_serial}".strip(),
        header.procedure_title,
        header.operator,
        began.isoformat(" ", "minutes"),
        standing(
            str(header.ended.verdict) if header.ended else None,
            parting.kind if parting else "",
            parting.reason if parting else "",
        ),
    )
