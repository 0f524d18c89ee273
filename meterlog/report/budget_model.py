"""A table of uncertainty as it is to be read."""

from dataclasses import dataclass

from meterlog.report.shown import Shown


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetLine:
    """One source of uncertainty. The standard uncertainty is in the base unit of the source."""

    source: str
    distribution: str
    standard_uncertainty: str
    degrees_of_freedom: str
    sensitivity: str
    contribution: str
    share: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetTable:
    """Where the uncertainty of one result comes from, the largest source first."""

    number: int
    pass_: str
    title: str
    line: str
    shown: Shown
    about: int | None
    lines: tuple[BudgetLine, ...]
    standard_uncertainty: str
    degrees_of_freedom: str
    coverage_factor: float
    coverage: str
