"""Numbers that come in over the API."""

from typing import Annotated

from pydantic import Field

from meterlog.accuracy.environment import COLDEST_C, WARMEST_C

Celsius = Annotated[float, Field(ge=COLDEST_C, le=WARMEST_C, allow_inf_nan=False)]
"""A temperature that a bench can have."""
