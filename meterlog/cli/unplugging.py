"""Unplug the one you mean, in the terminal: look, say what to do next, until one is known."""

import time
from collections.abc import Sequence

from meterlog.bench import BenchError
from meterlog.bench.find import NamedPort, Stage, Unplugging, look, serial_ports, taken_advice
from meterlog.cli.complain import say
from meterlog.cli.finding_said import unplugging_text

LOOK_S = 0.3
UNPLUG_S = 120.0


def unplugged(ports: Sequence[NamedPort]) -> NamedPort:
    """Wait for one to go and come back. BenchError: it did not, or nobody can tell which."""
    at, end_s = Unplugging(tuple(ports)), time.monotonic() + UNPLUG_S
    say(unplugging_text(at))
    while not at.is_over:
        if time.monotonic() > end_s:
            raise BenchError(f"no lead was unplugged and plugged in again within {UNPLUG_S:g} s")
        time.sleep(LOOK_S)
        before, at = at, look(at, serial_ports(), time.monotonic())
        if at.stage is not before.stage:
            say(unplugging_text(at))
    if at.stage is not Stage.STAYED or at.port is None:
        raise BenchError(
            "\n".join([unplugging_text(at), *(taken_advice() if at.stage is Stage.TAKEN else ())])
        )
    return at.port
