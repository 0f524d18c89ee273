"""meterlog start, action, follow: a session, from the terminal."""

import sys
from dataclasses import replace
from datetime import date
from enum import StrEnum
from typing import Annotated

import typer

from meterlog.accuracy import Environment
from meterlog.cli.complain import BAD_INPUT, NO, say
from meterlog.cli.options import Data, Session
from meterlog.cli.said import accepted, what_next
from meterlog.daemon.client import Client
from meterlog.records import DataFolder


class Kind(StrEnum):
    """What an operator can do."""

    GO_ON = "go-on"
    REDO = "redo"
    REDO_ROW = "redo-row"
    SKIP = "skip"
    SKIP_ROW = "skip-row"
    BREAK_OFF = "break-off"
    INOPERABLE = "inoperable"
    NOTE = "note"
    ENTER = "enter"
    ENVIRONMENT = "environment"
    PAUSE = "pause"
    RESUME = "resume"
    SET_ASIDE = "set-aside"
    OTHER_METER = "other-meter"


def add_to(app: typer.Typer) -> None:
    for command in (start, resume, action, follow):
        app.command()(command)


def start(
    procedure: Annotated[str, typer.Argument(help="Name of a procedure on offer, or path of its file.")],
    *,
    unit: Annotated[str, typer.Option(help="Model of the unit to be aligned.")],
    serial: Annotated[str, typer.Option(help="Its serial number.")] = "",
    operator: Annotated[str, typer.Option(help="Who does the work.")] = "",
    batch: Annotated[str, typer.Option(help="Name of the batch that the unit belongs to.")] = "",
    override: Annotated[
        str, typer.Option(help="Why, although a meter is not good enough for a step; the report shows it.")
    ] = "",
    temperature: Annotated[float | None, typer.Option(help="Of the bench, degC.", show_default=False)] = None,
    humidity: Annotated[float | None, typer.Option(help="Relative, in per cent.", show_default=False)] = None,
    customer: Annotated[str, typer.Option(help="Name and address of the customer.")] = "",
    customer_says: Annotated[str, typer.Option(help="What the customer said of the unit.")] = "",
    received: Annotated[str, typer.Option(help="The day the unit came: 2026-11-20.")] = "",
    work_place: Annotated[str, typer.Option(help="Where it is done, if not in the laboratory.")] = "",
    data: Data = None,
) -> None:
    """Begin a session with the daemon that runs."""
    here, day = environment(temperature, humidity), _day(received)
    told = {
        "batch": batch, "override": override, "customer": customer, "customer_says": customer_says,
        "received": day, "work_place": work_place,
        "temperature_c": here.temperature_c, "humidity_percent": here.humidity_percent,
    }  # fmt: skip
    with _client(data) as client:
        for warning in client.warnings(procedure):
            say(warning)
        number = client.begin(procedure, unit, serial, operator, **told)
    print(f"session {number} has begun; watch it with: meterlog follow, or at {client.url}")


def resume(
    session: Session,
    override: Annotated[
        str, typer.Option(help="Why, with a meter that is not good enough, or another; the report shows it.")
    ] = "",
    data: Data = None,
) -> None:
    """Go on with a session that was set aside, also on another day and with another meter."""
    with _client(data) as client:
        client.go_on_with(session, override)
    print(f"session {session} goes on; watch it with: meterlog follow, or at {client.url}")


def action(
    kind: Annotated[Kind, typer.Argument(help="What to do.")],
    text: Annotated[
        str, typer.Option(help="The reason, the row, the note, the reading; or: 24 degC, 40 % RH.")
    ] = "",
    step: Annotated[
        int | None, typer.Option(min=1, help="For a redo: which step of the plan, from 1.")
    ] = None,
    data: Data = None,
) -> None:
    """Do what the foot switch and the buttons of the page do."""
    with _client(data) as client:
        number = client.get("/api/status")["session"]
        refused = client.act(kind, text, None if step is None else step - 1)
        if refused:
            say(refused)
            raise typer.Exit(NO)
        print(accepted(kind, text.strip()))
        if number is not None and client.get("/api/status")["session"] is None:
            print(what_next(client.get(f"/api/sessions/{number}")))


def follow(
    bell: Annotated[bool, typer.Option(help="Ring when a value is stored, and on coming inside.")] = True,
    data: Data = None,
) -> None:
    """Show the session in this terminal: large digits, the way to go, the steps. q leaves it running."""
    from meterlog.cli.follow.follow import Follower  # noqa: PLC0415 - the others need no drawing

    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        say("follow needs a terminal; without one use the page, or: meterlog action")
        raise typer.Exit(BAD_INPUT)
    Follower(DataFolder(data).path, bell=bell).run()


def _client(data: Data) -> Client:
    return Client(DataFolder(data).path)


def environment(temperature: float | None, humidity: float | None) -> Environment:
    """BadParameter for what no bench has."""
    hint = "--temperature"
    try:
        found = Environment(temperature)
        hint = "--humidity"
        return replace(found, humidity_percent=humidity)
    except ValueError as error:
        raise typer.BadParameter(str(error), param_hint=hint) from error


def _day(text: str) -> str | None:
    if not text:
        return None
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as error:
        what = f"{text!r} is no day; write it such as 2026-11-20"
        raise typer.BadParameter(what, param_hint="--received") from error
