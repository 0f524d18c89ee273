"""What the commands about meters print."""

from collections.abc import Sequence
from datetime import UTC, date, datetime

from rich.console import Console
from rich.table import Table

from meterlog.checking.history import PointHistory
from meterlog.checking.judged import who
from meterlog.checking.rows import HEADS, rows_of
from meterlog.checking.said import doubt_words, history_words
from meterlog.checking.touched import Doubt, Touched


def print_history(found: PointHistory) -> None:
    kept = found.last.kept
    title = f"{who(kept.meter, kept.serial_number)}: {kept.point}, against {kept.reference}"
    table = Table(*HEADS, title=title)
    for row in rows_of(found):
        table.add_row(*row)
    console = Console()
    console.print(table, highlight=False)
    for line in history_words(found, today()):
        print(f"  {line}")


def print_touched(doubt: Doubt, found: Sequence[Touched]) -> None:
    print(doubt_words(doubt))
    table = Table("session", "unit", "procedure", "began", "verdict", "values taken with it", "")
    for one in found:
        session = one.session
        table.add_row(
            str(session.id),
            f"{session.unit_model} {session.unit_serial}".strip(),
            session.procedure_title,
            str(datetime.fromtimestamp(session.began_time_ns / 1e9, UTC).date()),
            str(session.ended.verdict) if session.ended else "not ended",
            str(one.values),
            "begun after it was found" if one.known else "",
        )
    if found:
        Console().print(table, highlight=False)
    else:
        print("no session was on record with it since")


def today() -> date:
    return datetime.now(UTC).date()
