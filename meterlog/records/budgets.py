"""Budgets as text: one JSON array of lines, each [source, shape, standard uncertainty, degrees of freedom,
sensitivity, contribution]; null stands for infinite degrees of freedom. Floats keep every bit."""

import json
import math
from collections.abc import Iterable
from typing import Any

from meterlog.accuracy.budget import Line, Source
from meterlog.accuracy.spread import Shape


def budget_text(lines: Iterable[Line]) -> str:
    return json.dumps([_plain(line) for line in lines])


def budget_of(text: str) -> tuple[Line, ...]:
    """ValueError, TypeError: not what was stored."""
    return tuple(_line(fields) for fields in json.loads(text))


def _plain(line: Line) -> list[str | float | None]:
    source = line.source
    degrees = None if math.isinf(source.degrees_of_freedom) else source.degrees_of_freedom
    return [
        source.name,
        str(source.shape),
        source.standard_uncertainty,
        degrees,
        line.sensitivity,
        line.contribution,
    ]


def _line(fields: list[Any]) -> Line:
    name, shape, standard, degrees, sensitivity, contribution = fields
    source = Source(name, standard, Shape(shape), math.inf if degrees is None else degrees)
    return Line(source, sensitivity, contribution)
