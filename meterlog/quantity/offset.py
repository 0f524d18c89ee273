"""A signed number of decibels about a level that is only known when it has been measured."""

from dataclasses import dataclass

from meterlog.quantity.decibel import ratio_from_db
from meterlog.quantity.errors import QuantityError
from meterlog.quantity.parse import parse_quantity
from meterlog.quantity.quantity import Quantity, References
from meterlog.quantity.scales import Scale
from meterlog.quantity.spans import MOST_DB
from meterlog.quantity.text import split


@dataclass(frozen=True, slots=True)
class Offset:
    """`db` about a reference: -3 dB is 3 dB below it. QuantityError beyond 1000 dB."""

    db: float

    def __post_init__(self) -> None:
        if not abs(self.db) <= MOST_DB:
            raise QuantityError(f"{self.db:g} dB is beyond every meter; look at the number again")

    def about(self, reference: float, scale: Scale) -> Quantity:
        """The level that lies so far from `reference` (base unit), to be shown in `scale`."""
        return Quantity(reference * ratio_from_db(self.db), scale)

    def __str__(self) -> str:
        return f"{self.db:+g} dB" if self.db else "0 dB"


def parse_target(text: str, references: References) -> Quantity | Offset:
    """A level, or dB about one that is still to be measured: "-3 dB". QuantityError as `parse_quantity`."""
    number, symbol, note = split(text)
    return Offset(number) if symbol == "dB" and not note else parse_quantity(text, references)
