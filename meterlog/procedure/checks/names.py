"""Names: used twice, not declared, not used."""

from collections import Counter
from collections.abc import Iterator

from meterlog.procedure.checks.finding import Finding, all_parts, warning
from meterlog.procedure.model import Procedure


def used_twice(procedure: Procedure) -> Iterator[Finding]:
    yield from _repeated("step", [step.id for step in procedure.steps], "id")
    yield from _repeated("channel", [channel.name for channel in procedure.channels], "name")


def _repeated(table: str, names: list[str], key: str) -> Iterator[Finding]:
    for name, count in Counter(names).items():
        if count > 1:
            second = [index for index, other in enumerate(names) if other == name][1]
            yield Finding((table, second, key), f"{name!r} is used twice; rename one of them")


def undeclared(procedure: Procedure) -> Iterator[Finding]:
    """Channels of steps and guards that the file does not declare."""
    known = [channel.name for channel in procedure.channels]
    guards = [(("guard", index), guard) for index, guard in enumerate(procedure.guards)]
    for place, part in (*all_parts(procedure), *guards):
        name = getattr(part, "channel", None)
        if name is not None and name not in known:
            yield Finding(
                (*place, "channel"),
                f"no channel {name!r} is declared; declared are {', '.join(dict.fromkeys(known))}",
            )


def idle(procedure: Procedure) -> Iterator[Finding]:
    """Channels that the bench would have to offer for nothing."""
    used = {name for step in procedure.steps for name in step.channels}
    used |= {guard.channel for guard in procedure.guards}
    for index, channel in enumerate(procedure.channels):
        if channel.name not in used:
            yield warning(
                ("channel", index, "name"),
                f"no step and no guard uses {channel.name!r}; remove the channel, or name it in a step",
            )
