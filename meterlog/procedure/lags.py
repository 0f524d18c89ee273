"""The meters' own averaging times, from the bench, for steps that state no `lag` of their own."""

from collections.abc import Mapping
from typing import Any

from meterlog.procedure.model import Procedure
from meterlog.procedure.model.base import Settling

Lags = Mapping[str, float]
"""Seconds, by the name of the channel."""


def with_lags(procedure: Procedure, lags: Lags) -> Procedure:
    """The procedure as it is run on a bench whose channels lag so. What a step states counts before."""
    if not lags:
        return procedure
    return procedure.model_copy(update={"steps": [_lagged(step, lags) for step in procedure.steps]})


def _lagged(part: Any, lags: Lags) -> Any:
    """A step, or a part of one that watches a channel of its own."""
    changes: dict[str, Any] = {}
    if isinstance(part, Settling) and "lag" not in part.model_fields_set:
        changes["lag"] = lags.get(getattr(part, "channel", None) or "", part.lag)
    for name in type(part).model_fields:
        value = getattr(part, name)
        if isinstance(value, list) and value and all(isinstance(item, Settling) for item in value):
            changes[name] = [_lagged(item, lags) for item in value]
    return part.model_copy(update=changes) if changes else part
