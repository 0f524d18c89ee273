"""A batch of units on paper."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from meterlog.report.batch import BatchReport
from meterlog.report.batch_words import over_all, sentences
from meterlog.report.errors import ReportError
from meterlog.report.paper import Paper
from meterlog.report.pdf import typeset
from meterlog.report.typography import number, when
from meterlog.report.whole_file import whole_file

_ABREAST = 6
"""So many units stand side by side on a page."""


def write_batch(report: BatchReport, path: Path, paper: Paper = Paper.A4) -> None:
    """ReportError: the file is no PDF or cannot be written, or no font has its characters."""
    if path.suffix.lower() != ".pdf":
        raise ReportError(f"{path}: a batch is written as PDF; choose a name that ends in .pdf")
    made = batch_pdf(report, paper, datetime.now().astimezone())
    with whole_file(path) as draft:
        draft.write_bytes(made)


def batch_pdf(report: BatchReport, paper: Paper, at: datetime) -> bytes:
    """As it stood `at`. ReportError: a character that no font on this machine has."""
    at = at.replace(microsecond=0)
    return typeset("batch.typ", paper, {"batch": _content(report), "at": when(at)}, at)


def _content(report: BatchReport) -> dict[str, Any]:
    batch = report.batch
    return {
        "name": batch.name,
        "procedure": batch.procedure,
        "unit_model": batch.unit_model,
        "sentences": sentences(report),
        "units": [
            [one.serial, "" if one.session is None else str(one.session), one.standing, one.first_time]
            for one in report.units
        ],
        "steps": [[number(text) for text in over_all(step)] for step in report.steps],
        "values": list(_values(report)),
    }


def _values(report: BatchReport) -> Iterator[dict[str, Any]]:
    """Steps against some units at a time; those that have nothing yet are left out."""
    serials = [unit.serial for unit in report.units if any(unit.serial in s.cells for s in report.steps)]
    for some in _parts(serials):
        rows = [
            [number(f"{step.title}, {step.unit}"), *(number(step.cells.get(serial, "")) for serial in some)]
            for step in report.steps
        ]
        yield {"serials": some, "rows": rows}


def _parts(serials: Sequence[str]) -> Iterator[Sequence[str]]:
    return (serials[first : first + _ABREAST] for first in range(0, len(serials), _ABREAST))
