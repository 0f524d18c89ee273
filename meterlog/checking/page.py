"""Histories as a file: one HTML page with everything in it, or the pictures alone."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from meterlog.checking.errors import CheckError
from meterlog.checking.history import PointHistory
from meterlog.checking.judged import who
from meterlog.checking.picture import history_png, history_svg
from meterlog.checking.rows import HEADS, rows_of
from meterlog.checking.said import history_words
from meterlog.report.whole_file import whole_file

KINDS = (".html", ".svg", ".png")


def write_history(histories: Sequence[PointHistory], path: Path, today: date) -> None:
    """By the ending of the path. CheckError: another ending; ReportError: it cannot be written."""
    if path.suffix not in KINDS:
        raise CheckError(f"{path}: a history is written as {', '.join(KINDS)}; choose one of these endings")
    with whole_file(path) as draft:
        draft.write_bytes(_content(histories, path.suffix, today))


def _content(histories: Sequence[PointHistory], kind: str, today: date) -> bytes:
    if kind == ".png":
        return history_png(histories)
    text = history_svg(histories) if kind == ".svg" else _page(histories, today)
    return text.encode()


def _page(histories: Sequence[PointHistory], today: date) -> str:
    loader = PackageLoader("meterlog.checking", "templates")
    made = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    shown = [_section(number, history, today) for number, history in enumerate(histories)]
    return made.get_template("history.html.j2").render(histories=shown, today=today)


def _section(number: int, history: PointHistory, today: date) -> dict[str, Any]:
    """The SVG is our own drawing: texts from outside are escaped in it by the drawer."""
    kept = history.last.kept
    return {
        "title": f"{who(kept.meter, kept.serial_number)}: {kept.point}",
        "picture": Markup(history_svg([history], f"h{number}-")),  # noqa: S704
        "words": history_words(history, today),
        "heads": HEADS,
        "rows": rows_of(history),
    }
