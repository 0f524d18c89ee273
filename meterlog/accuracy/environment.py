"""Temperature and humidity of the place where the work is done, and how they are written in the record."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

EXAMPLE = "23 degC, 45 % RH"
NOT_KNOWN = "not known"
COLDEST_C, WARMEST_C = -20.0, 60.0
"""A number beyond is a slip of the pen, not a place where people align equipment."""
_PART = re.compile(r"([-+]?\d+(?:\.\d+)?)\s*(degC|°C|C|%(?:\s*RH)?)", re.IGNORECASE)
_SAID = re.compile(r"([^(]*)(?:\((.*)\))?", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Environment:
    """In degrees Celsius and per cent relative humidity; None where nobody has said.

    source  what told it, such as the name of a channel; "" for a person
    """

    temperature_c: float | None = None
    humidity_percent: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        """ValueError: no such place."""
        temperature_c, humidity = self.temperature_c, self.humidity_percent
        if temperature_c is not None and not COLDEST_C <= temperature_c <= WARMEST_C:
            raise ValueError(
                f"{temperature_c:g} degC is no temperature of a bench; write {COLDEST_C:g} to {WARMEST_C:g}"
            )
        if humidity is not None and not 0.0 <= humidity <= 100.0:
            raise ValueError(f"{humidity:g} % is no relative humidity; write 0 to 100")

    def __bool__(self) -> bool:
        return (self.temperature_c, self.humidity_percent) != (None, None)

    @property
    def text(self) -> str:
        """As the record keeps it: "23 degC, 45 % RH", or that it is not known."""
        parts = [
            "" if self.temperature_c is None else f"{self.temperature_c:g} degC",
            "" if self.humidity_percent is None else f"{self.humidity_percent:g} % RH",
        ]
        said = ", ".join(part for part in parts if part) or NOT_KNOWN
        return f"{said} ({self.source})" if self.source else said

    def then(self, later: Self) -> Self:
        """What holds after `later` was told: what it does not tell stays, unless it tells nothing."""
        if not later:
            return later
        temperature_c, humidity = later.temperature_c, later.humidity_percent
        return type(self)(
            self.temperature_c if temperature_c is None else temperature_c,
            self.humidity_percent if humidity is None else humidity,
            later.source,
        )


def parse_environment(text: str) -> Environment:
    """ValueError: not such as "23 degC, 45 % RH" or "not known", or no place where people work."""
    if text.strip() == NOT_KNOWN:
        return Environment()
    said = _SAID.fullmatch(text.strip())
    found = [_PART.fullmatch(part.strip()) for part in (said[1] if said else text).split(",")]
    humid = [float(one[1]) for one in found if one and one[2].startswith("%")]
    warm = [float(one[1]) for one in found if one and not one[2].startswith("%")]
    if None in found or len(humid) > 1 or len(warm) > 1:
        raise ValueError(f"{text.strip()!r} is no temperature and humidity; write them such as {EXAMPLE}")
    return Environment(_only(warm), _only(humid), (said[2] or "") if said else "")


def _only(numbers: Iterable[float]) -> float | None:
    return next(iter(numbers), None)
