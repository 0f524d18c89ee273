"""A meter that begins to drift, found by the charts of its weekly checks: a year of them in some seconds."""

import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from rich.console import Console
from sqlalchemy import Engine

from meterlog.checking.history import PointHistory, histories
from meterlog.checking.judged import Standing
from meterlog.checking.page import write_history
from meterlog.checking.said import doubt_words, due_words, outlook_words
from meterlog.checking.touched import doubts, touched
from meterlog.demo.year import BENCH, METER, SCATTER, STEADY, Year, ns, readings
from meterlog.procedure import Acted, ActionKind, Event, Measured, SessionState, load_procedure_text
from meterlog.procedure import Engine as Course
from meterlog.records import (
    BenchUsed,
    DataFolder,
    Instrument,
    SessionStart,
    Writer,
    add_meter_check,
    list_meter_checks,
    meters_of,
)

WEEKS = 52
PER_WEEK = 2.4e-6
"""Of the gain: 0.3 of its scatter from week to week."""
_SEED = 1
_UNIT = "Supply (simulated)"
_PROCEDURE = """
[procedure]
title = "Rail of ten volts"
revision = "1"
unit = "Any supply"
[[channel]]
name = "output"
unit = "V"
coupling = "dc"
[[step]]
id = "rail"
title = "Rail"
pattern = "measure"
channel = "output"
target = "10 V"
tolerance = "1 %"
dwell = "1 s"
"""


def drift(folder: Path | None = None) -> PointHistory:
    """Make the year, say what was found and when, draw the charts. `folder`: None is a new temporary one."""
    console = Console(highlight=False)
    folder = folder or Path(tempfile.mkdtemp(prefix="meterlog-drift-"))
    record = DataFolder(folder).open()
    today = datetime.now(UTC).replace(hour=9, minute=0, second=0, microsecond=0)
    year = Year(folder, PER_WEEK, _SEED, today - timedelta(weeks=WEEKS - 1, days=3))
    console.print(
        f"{WEEKS} weekly checks of a simulated meter against 10 V, a session in each week. "
        f"From week {STEADY + 1} on its gain grows by {1e6 * PER_WEEK:g} ppm a week; from week to week it "
        f"scatters by {1e6 * SCATTER:g} ppm. All invented.",
        soft_wrap=True,
    )
    _make(year, record)
    (history,) = histories(list_meter_checks(record))
    for line in [*_found(history), outlook_words(history), due_words(history, today.date())]:
        console.print(line, soft_wrap=True)
    _say_touched(console, record)
    for name in ("history.png", "history.html"):
        write_history([history], folder / name, today.date())
        console.print(str(folder / name), soft_wrap=True)
    record.dispose()
    return history


def _make(year: Year, record: Engine) -> None:
    """Each week the check, and two days later a unit."""
    writer = Writer(record)
    for number in range(WEEKS):
        add_meter_check(record, year.check(number), year.papers())
        _session(writer, year, number)
    writer.close()


def _session(writer: Writer, year: Year, number: int) -> None:
    """One unit with the meter as it was in that week: by the engine, and closed."""
    began = year.week(number) + timedelta(days=2)
    bench = BenchUsed(since_sequence=0, text=BENCH, specifications=year.bench.specification_texts)
    session = writer.begin_session(
        SessionStart(
            unit_model=_UNIT, unit_serial=f"{number + 1:03d}", operator="simulated", boot_id="", origin_ns=0,
            procedure_title="Rail of ten volts", procedure_text=_PROCEDURE, bench_text=BENCH, software="demo",
            began_time_ns=ns(began), specifications=bench.specifications,
        )
    )  # fmt: skip
    writer.instrument(
        session,
        Instrument(
            meter=METER, driver="scpi", serial_number="S-001", seen_time_ns=ns(began), since_sequence=1
        ),
    )
    course = Course(load_procedure_text(_PROCEDURE, "rail.toml"), *meters_of(bench, ns(began)))
    for sequence, event in enumerate(_events(year, number, began), 1):
        writer.event(session, sequence, event)
        if outcomes := course.apply(event):
            writer.commit(session, sequence, outcomes)
        if course.state is SessionState.ENDED:
            return


def _events(year: Year, number: int, began: datetime) -> Iterator[Event]:
    yield Acted(0, ActionKind.START)
    for reading in readings(year.gain, began, f"session {number}", "output"):
        yield Measured(reading.monotonic_ns, reading)


def _found(history: PointHistory) -> list[str]:
    """The week in which each chart cried out first after the drift had begun, and when it was outside."""
    assert history.charts is not None
    lines = []
    for name, places in history.charts.alarms.items():
        after = [place for place in places if place >= STEADY]
        vain = len(places) - len(after)
        lines.append(
            f"{name}: "
            + (f"found in week {after[0] + 1} ({history.checks[after[0]].day})" if after else "found nothing")
            + (f"; cried out in vain {vain} times before" if vain else "")
        )
    outside = [n for n, one in enumerate(history.checks) if one.standing is Standing.OUTSIDE]
    if outside:
        day = history.checks[outside[0]].day
        lines.append(f"outside its specification: first in week {outside[0] + 1} ({day})")
    return lines


def _say_touched(console: Console, record: Engine) -> None:
    for doubt in doubts(list_meter_checks(record), METER):
        console.print(doubt_words(doubt), soft_wrap=True)
        found = touched(record, doubt)
        for one in found:
            if not one.known:
                began = datetime.fromtimestamp(one.session.began_time_ns / 1e9, UTC).date()
                unit = one.session.unit_serial
                console.print(
                    f"  to doubt: session {one.session.id} of {began}, unit {unit}, {one.values} value"
                )
        known = sum(one.known for one in found)
        console.print(f"  and {known} sessions that were begun when it was known")
