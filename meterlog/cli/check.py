"""meterlog check history, moved, touched: what the checks on record say. No daemon is needed."""

import json
from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer
from sqlalchemy import Engine

from meterlog.accuracy.drift import Moved
from meterlog.checking.as_plain import history_plain, touched_plain
from meterlog.checking.errors import CheckError
from meterlog.checking.history import PointHistory, histories
from meterlog.checking.moved import compared
from meterlog.checking.said import moved_words
from meterlog.checking.touched import Doubt, Touched, doubts, touched
from meterlog.cli.check_profile import profile
from meterlog.cli.check_run import run
from meterlog.cli.check_said import print_history, print_touched, today
from meterlog.cli.complain import NO
from meterlog.cli.options import Data
from meterlog.records import DataFolder, list_meter_checks

Meter = Annotated[str, typer.Option("--meter", help="Its name in the bench file, or its serial number.")]
Point = Annotated[str, typer.Option("--point", help="One point alone, by its name.")]
Since = Annotated[
    datetime | None,
    typer.Option("--since", formats=["%Y-%m-%d"], help="From this day on (UTC).", show_default=False),
]
AsJson = Annotated[bool, typer.Option("--json", help="For programs.")]
Named = Annotated[str, typer.Argument(help="Name or serial number of a meter.")]


def add_to(app: typer.Typer) -> None:
    check = typer.Typer(help="The meters themselves, held against references.", no_args_is_help=True)
    check.command("run")(run)
    check.command("history")(history)
    check.command("profile")(profile)
    check.command("moved")(moved)
    check.command("touched")(touched_sessions)
    app.add_typer(check, name="check")


def history(
    *,
    meter: Meter = "",
    point: Point = "",
    since: Since = None,
    baseline: Annotated[
        int, typer.Option(min=3, help="How many first checks the charts' limits rest on.")
    ] = 20,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="Also as .html, or the charts as .svg or .png.")
    ] = None,
    as_json: AsJson = False,
    data: Data = None,
) -> None:
    """Show the checks of the meters: errors, control charts, drift, until when inside, the next check."""
    record = DataFolder(data).open_existing()
    found = _histories(record, meter, point, since, baseline)
    if as_json:
        print(json.dumps([history_plain(one, today()) for one in found], indent=2))
    else:
        for one in found:
            print_history(one)
    if output is not None:
        from meterlog.checking.page import write_history  # noqa: PLC0415 - charts are slow to load

        write_history(found, output, today())
        if not as_json:
            print(output)


def moved(a: Named, b: Named, point: Point = "", since: Since = None, data: Data = None) -> None:
    """Two meters, one reference: which of the three has moved since a day, or since the last check but one.

    Exit code 1: something has, or it is not clear what.
    """
    found = compared(
        list_meter_checks(DataFolder(data).open_existing()), a, b, point=point, since=_day(since)
    )
    for one in found:
        print(moved_words(one))
    if any(one.moved is not Moved.NOTHING for one in found):
        raise typer.Exit(NO)


def touched_sessions(
    meter: Annotated[str, typer.Option("--meter", help="Its name in the bench file, or its serial number.")],
    since: Since = None,
    as_json: AsJson = False,
    data: Data = None,
) -> None:
    """List the sessions a meter was used in since it was last found inside, if it is outside now.

    With --since those from that day on. Exit code 1: there are some.
    """
    record = DataFolder(data).open_existing()
    if since is None:
        _histories(record, meter)  # of a meter that was never checked nothing is known, good or bad
    found = [(one, touched(record, one)) for one in doubts(list_meter_checks(record), meter, _day(since))]
    if as_json:
        print(json.dumps([touched_plain(*one) for one in found], indent=2))
    else:
        _print_all_touched(meter, found)
    if any(sessions for _, sessions in found):
        raise typer.Exit(NO)


def _print_all_touched(meter: str, found: list[tuple[Doubt, list[Touched]]]) -> None:
    if not found:
        print(f"{meter}: at no point was its last check outside")
    for doubt, sessions in found:
        print_touched(doubt, sessions)


def _histories(
    record: Engine, meter: str, point: str = "", since: datetime | None = None, baseline: int = 20
) -> list[PointHistory]:
    checks = list_meter_checks(record)
    found = histories(checks, meter=meter, point=point, since=_day(since), baseline=baseline)
    if not found:
        known = (
            ", ".join(sorted({repr(one.meter) for one in checks})) or "none; begin with: meterlog check run"
        )
        raise CheckError(f"no such checks on record; meters with checks: {known}")
    return found


def _day(moment: datetime | None) -> date | None:
    return moment.date() if moment else None
