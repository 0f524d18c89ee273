"""Where the uncertainty of each result comes from, as a table (EA-4/02 M:2022, section 7 has its columns)."""

from collections.abc import Iterable, Iterator

from meterlog.accuracy.budget import Line
from meterlog.accuracy.coverage import claimed_by
from meterlog.procedure import SettledValue
from meterlog.report.budget_model import BudgetLine, BudgetTable
from meterlog.report.model import Cell, Row
from meterlog.report.session import Session
from meterlog.report.shown import scale_for, shown, slope
from meterlog.report.typography import figure
from meterlog.report.words import line_of_value


def budgets_of(session: Session, rows: Iterable[Row]) -> Iterator[BudgetTable]:
    """One for each result that has a budget, in the order of the results."""
    values = {value.number: value for value in session.course.values}
    for value in (values[number] for number in _numbers(rows)):
        if value.budget:
            yield _table(session, value)


def without_budget(session: Session, rows: Iterable[Row]) -> tuple[int, ...]:
    """Numbers of the results whose uncertainty has no budget on record: an earlier version recorded them."""
    bare = {v.number for v in session.course.values if v.standard_uncertainty > 0.0 and not v.budget}
    return tuple(sorted(bare.intersection(_numbers(rows))))


def _numbers(rows: Iterable[Row]) -> list[int]:
    cells: list[Cell] = [cell for row in rows for cell in (row.found, row.left)]
    return list(dict.fromkeys(cell.number for cell in cells if cell.number is not None))


def _table(session: Session, value: SettledValue) -> BudgetTable:
    scale, step = scale_for(value, session.scale(value)), session.step(value.step)
    factor = abs(slope(value.value, scale))
    return BudgetTable(
        number=value.number,
        pass_=value.pass_,
        title=step.title,
        line=line_of_value(step, value),
        shown=shown(value, scale),
        about=value.about,
        lines=tuple(_line(line, value, factor) for line in value.budget),
        standard_uncertainty=figure(value.standard_uncertainty * factor),
        degrees_of_freedom=_degrees(value.degrees_of_freedom),
        coverage_factor=value.coverage_factor,
        coverage=f"{100.0 * claimed_by(value.coverage_factor):g} %",
    )


def _line(line: Line, value: SettledValue, factor: float) -> BudgetLine:
    """Sensitivity and contribution in the unit that the uncertainty of the result is stated in."""
    source = line.source
    return BudgetLine(
        source=source.name,
        distribution=str(source.shape),
        standard_uncertainty=figure(source.standard_uncertainty),
        degrees_of_freedom=_degrees(source.degrees_of_freedom),
        sensitivity=figure(line.sensitivity * factor, 3),
        contribution=figure(line.contribution * factor),
        share=f"{100.0 * (line.contribution / value.standard_uncertainty) ** 2:.1f} %",
    )


def _degrees(degrees: float) -> str:
    return f"{degrees:.0f}" if degrees < 1e4 else "∞"
