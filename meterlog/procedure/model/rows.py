"""The step that takes one value for each row of a table: a frequency response, a scale, a set of levels."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from meterlog.files import Distance, Level, Target, references_of
from meterlog.procedure.events import Pass
from meterlog.procedure.model.base import LOOKING, Identifier, Name, Settling, StepBase, Table
from meterlog.quantity import Offset, Quantity, QuantityError, Span, Unit, parse_quantity, readable_scale
from meterlog.quantity.equalisers import USUAL_HZ, response_db

REFERENCE_HZ = 1000.0
"""What a curve is about where an earlier step, not a row, is the reference."""


class Row(Table):
    """One setting of the source, `at` a frequency or a level, and what is expected of the channel there."""

    at: Level
    name: str = Field(default="", max_length=80)
    setup: str = ""
    expected: Target | None = None
    tolerance: Distance | None = None

    @property
    def label(self) -> str:
        """What it is called everywhere, and the condition of its value."""
        return self.name or str(self.at)


class Rows(StepBase, Settling):
    """Row after row: the source is set, the channel settles, its value is taken and judged.

    curve          gives what is expected of every row; without rows of one's own the usual frequencies
    reference_row  is taken first; expectations in dB are about its value, or about the step `reference`
    frequency, level           of the source, whichever the rows do not say
    frequency_channel          where the bench can see the source's frequency
    """

    pattern: Literal["table"]
    channel: Name
    row: tuple[Row, ...] = ()
    curve: Literal["flat", "riaa", "riaa-7950-us"] | None = None
    reference: Identifier | None = None
    reference_row: str | None = None
    tolerance: Distance | None = None
    level: Level | None = None
    frequency_channel: Name | None = None
    frequency_tolerance: Distance = Span(2.0, "%")

    @field_validator("reference_row")
    @classmethod
    def _label(cls, text: str | None, info: ValidationInfo) -> str | None:
        """The label of the row meant: "1000 Hz" is the row at 1 kHz where none has that name."""
        rows = info.data.get("row") or (_USUAL if info.data.get("curve") else ())
        if text is None or text in [row.label for row in rows]:
            return text
        try:
            meant = parse_quantity(text, references_of(info))
        except QuantityError:
            return text
        alike = [
            row.label for row in rows if (row.at.base, row.at.scale.unit) == (meant.base, meant.scale.unit)
        ]
        return alike[0] if len(alike) == 1 else text

    @model_validator(mode="after")
    def _whole(self) -> Self:
        for amiss in (*self._rows_amiss(), *self._reference_amiss(), *self._source_amiss()):
            raise ValueError(amiss)
        for row in self.rows:
            for amiss in self._row_amiss(row):
                raise ValueError(f"row {row.label}: {amiss}")
        return self

    def _rows_amiss(self) -> Iterator[str]:
        labels = [row.label for row in self.rows]
        units = {row.at.scale.unit for row in self.rows}
        if not labels:
            yield "a table needs rows ([[step.row]]) or a `curve`"
        elif not (units <= {Unit.HERTZ} or units <= {Unit.VOLT}):
            yield "`at` is a frequency in every row or a level in every row"
        if len(set(labels)) != len(labels):
            yield "two rows have one name; give each its own `name`"
        if self.curve and units != {Unit.HERTZ}:
            yield "a curve is over frequency: `at` such as 1 kHz"

    def _reference_amiss(self) -> Iterator[str]:
        labels = [row.label for row in self.rows]
        if self.reference and self.reference_row:
            yield "give `reference` or `reference_row`, not both"
        if self.reference_row is not None and self.reference_row not in labels:
            yield f"no row {self.reference_row!r} for `reference_row`; rows are {', '.join(labels)}"
        relative = any(isinstance(self.expected_of(row), Offset) for row in self.rows)
        if relative and not (self.reference or self.reference_row):
            yield "expectations in dB are about a row or a step: name it as `reference_row` or `reference`"

    def _source_amiss(self) -> Iterator[str]:
        over_hertz = self._over_hertz
        if self.frequency is not None and (over_hertz or self.frequency.scale.unit is not Unit.HERTZ):
            yield "`frequency` is that of the source, in Hz, where the rows are levels"
        if self.level is not None and (not over_hertz or self.level.scale.unit is not Unit.VOLT):
            yield "`level` is that of the source, in V or dBu, where the rows are frequencies"
        if self.frequency_channel is not None and not (over_hertz or self.frequency):
            yield "a `frequency_channel` needs a frequency to look for: give `frequency`"
        if self.frequency_tolerance.kind not in ("%", Unit.HERTZ) or not self.frequency_tolerance.amount:
            yield "write `frequency_tolerance` in % or Hz, such as 2 %"
        if self.seen:
            yield from self._too_near()

    def _too_near(self) -> Iterator[str]:
        """Rows between which the meter could not tell that the source was moved."""
        rows = sorted(self.rows, key=lambda row: row.at.base)
        for one, other in pairwise(rows):
            if self.frequency_tolerance.high(one.at.base) >= self.frequency_tolerance.low(other.at.base):
                yield f"{one.label} and {other.label} differ by less than frequency_tolerance; write less"

    def _row_amiss(self, row: Row) -> Iterator[str]:
        expected, tolerance = self.expected_of(row), self.tolerance_of(row)
        if self.curve and row.expected is not None:
            yield "the curve says what is expected; leave `expected` out"
        if row.at.base <= 0.0:
            yield f"{row.at} cannot be set"
        if expected is not None and tolerance is None:
            yield "give it a tolerance, or one to the whole table"
        if self.is_reference(row) and isinstance(row.expected, Offset):
            yield "the others are about this row: give it a level such as +4 dBu, or nothing"
        if not self.settle and tolerance is None:
            yield "say with `settle` what counts as settled"

    @property
    def rows(self) -> tuple[Row, ...]:
        """Those of the file, or the usual ones of the curve."""
        return self.row if self.row or not self.curve else _USUAL

    @property
    def ordered(self) -> tuple[Row, ...]:
        """As they are taken: the reference first, for the others are judged by it."""
        return tuple(sorted(self.rows, key=lambda row: not self.is_reference(row)))

    def is_reference(self, row: Row) -> bool:
        return row.label == self.reference_row

    def expected_of(self, row: Row) -> Quantity | Offset | None:
        """A level, or dB about the reference."""
        if self.curve is None or self.is_reference(row):
            return row.expected
        about = next((one.at.base for one in self.rows if self.is_reference(one)), REFERENCE_HZ)
        return Offset(response_db(self.curve, row.at.base, about))

    def tolerance_of(self, row: Row) -> Span | None:
        return row.tolerance or self.tolerance

    def settle_within(self, row: Row) -> Span:
        """A value good to half the window is good enough to tell inside from outside."""
        tolerance = self.tolerance_of(row)
        span = self.settle or (tolerance.scaled(0.5) if tolerance else None)
        assert span is not None, "checked when the file was read"
        return span

    def frequency_of(self, row: Row) -> Quantity | None:
        """The source's; None where nobody says."""
        return row.at if self._over_hertz else self.frequency

    def level_of(self, row: Row) -> Quantity | None:
        """The source's; None where it stays as it is."""
        return self.level if self._over_hertz else row.at

    def same_source(self, one: Row, other: Row) -> bool:
        """Whether the source is the same in both rows, so that only the `setup` makes them two."""
        return one.at.base == other.at.base

    @property
    def _over_hertz(self) -> bool:
        return all(row.at.scale.unit is Unit.HERTZ for row in self.rows)

    @property
    def seen(self) -> bool:
        """Whether the meter shows by itself that the source has gone to another row."""
        return self.frequency_channel is not None and self._over_hertz

    @property
    def channels(self) -> tuple[str, ...]:
        return (self.channel, self.frequency_channel) if self.frequency_channel else (self.channel,)

    @property
    def passes(self) -> frozenset[Pass]:
        """It only looks: nothing is turned."""
        return LOOKING


def _at(hertz: float) -> Quantity:
    return Quantity(float(hertz), readable_scale(hertz, Unit.HERTZ))


_USUAL = tuple(Row(at=_at(hertz)) for hertz in USUAL_HZ)
