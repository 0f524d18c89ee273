"""meterlog check run: through the points of a file with the meter of a bench."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer
from sqlalchemy import Engine

from meterlog.bench import Bench, DrivenSource, SystemClock, check_drivers, load_bench, load_source_driver
from meterlog.checking.errors import CheckError
from meterlog.checking.history import histories
from meterlog.checking.judged import Judged, Standing
from meterlog.checking.points_file import Points, load_points
from meterlog.checking.result import Told
from meterlog.checking.run import run_checks
from meterlog.checking.said import alarm_words, due_words, judged_words
from meterlog.checking.setting import meter_on, setting_of
from meterlog.checking.touched import doubts, touched
from meterlog.cli.check_said import print_touched, today
from meterlog.cli.complain import NO
from meterlog.cli.instrument_options import held_by_daemon
from meterlog.cli.options import Data
from meterlog.cli.reference_prompts import Prompts
from meterlog.cli.working import environment
from meterlog.daemon.version import VERSION
from meterlog.records import DataFolder, MeterCheck, Papers, add_meter_check, list_meter_checks


def run(
    points: Annotated[Path, typer.Argument(help="The file of points: what is measured, against what.")],
    *,
    bench: Annotated[Path, typer.Option("--bench", help="The bench file with the meter.")],
    meter: Annotated[str, typer.Option(help="Which meter of it; may be left out if there is one.")] = "",
    temperature: Annotated[float | None, typer.Option(help="Of the room, degC.", show_default=False)] = None,
    warm_up: Annotated[str, typer.Option(help="How long meter and reference were on.")] = "",
    operator: Annotated[str, typer.Option(help="Who does it.")] = "",
    yes: Annotated[bool, typer.Option("--yes", help="Ask nothing: all is connected already.")] = False,
    data: Data = None,
) -> None:
    """Check a meter at the points of a file; each check is stored as soon as it is taken.

    Exit code 0: all inside, or not judged; 1: a point was outside or did not settle.
    """
    room = environment(temperature, None)
    on = load_bench(bench)
    check_drivers(on, bench)
    file = load_points(points, on.references)
    name = meter_on(on, meter)
    settings = [setting_of(point, on, name) for point in file.points]
    papers = Papers(points=file.text, bench=on.text, specification=on.specification_texts.get(name, ""))
    prompts = Prompts(ask=not yes)
    told = Told(room.temperature_c, warm_up, operator, f"meterlog {VERSION}")
    with _record(data) as record:
        with _source(on, file) as source:
            checks = run_checks(file, settings, prompts, told=told, clock=SystemClock(), source=source)
            taken = list(_stored(record, checks, papers))
        _tell_histories(record, taken)
        outside = any(one.standing is Standing.OUTSIDE for one in taken)
        if outside:
            _tell_touched(record, taken[-1].kept.serial_number or name)
    print(f"{len(taken)} of {len(file.points)} points taken")
    if outside or prompts.given_up:
        raise typer.Exit(NO)


def _stored(record: Engine, checks: Iterator[MeterCheck], papers: Papers) -> Iterator[Judged]:
    """Each is told once it is on disk."""
    for check in checks:
        add_meter_check(record, check, papers)
        judged = Judged(check)
        print(judged_words(judged), flush=True)
        yield judged


@contextmanager
def _record(data: Data) -> Iterator[Engine]:
    """The one who writes, as the daemon is otherwise. CheckError: it runs, and reads the meters."""
    if held := held_by_daemon(data):
        names = ", ".join(one.instrument for one in held)
        raise CheckError(f"the daemon reads {names}: end it (Ctrl-C where it runs), then check the meter")
    folder = DataFolder(data)
    with folder.hold():
        yield folder.open()


@contextmanager
def _source(on: Bench, file: Points) -> Iterator[DrivenSource | None]:
    if on.source is None or not any(point.drive for point in file.points):
        yield None
        return
    source = DrivenSource(on.source, load_source_driver(on.source.driver), SystemClock())
    try:
        yield source
    finally:
        source.close()


def _tell_histories(record: Engine, taken: list[Judged]) -> None:
    """What the charts say now, and when to check again."""
    kept = [one.kept for one in taken]
    for found in histories(list_meter_checks(record)):
        if found.last.kept in kept:
            print(f"  {found.last.kept.point}: {'; '.join([*alarm_words(found), due_words(found, today())])}")


def _tell_touched(record: Engine, meter: str) -> None:
    for doubt in doubts(list_meter_checks(record), meter):
        print_touched(doubt, touched(record, doubt))
