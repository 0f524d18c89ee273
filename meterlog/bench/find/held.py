"""Lines that a bench reads already: nobody else may open them, whatever name they are called by."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from meterlog.bench.bench_file import Bench
from meterlog.bench.errors import BenchError
from meterlog.bench.find.advice import Facts
from meterlog.bench.find.finding import Finding, found_wrong
from meterlog.bench.find.trouble import Trouble
from meterlog.bench.wires import SerialAddress, parse_address


@dataclass(frozen=True, slots=True)
class Held:
    """An address of the bench file, and the name of the instrument there."""

    address: str
    instrument: str


def held_by(bench: Bench) -> list[Held]:
    """Every line of a bench, whether it is open at the moment or not."""
    source = [Held(bench.source.address, bench.source.name)] if bench.source else []
    return [Held(meter.address, meter.name) for meter in bench.meters] + source


def holding(held: Iterable[Held], address: str) -> Held | None:
    """Who holds this address, under this name or another one of the same port."""
    wanted = resolved(address)
    return next((one for one in held if resolved(one.address) == wanted), None)


def held_finding(address: str, held: Held) -> Finding:
    """What is said instead of looking."""
    return found_wrong(Trouble.HELD, Facts(address, holder=f"“{held.instrument}”"))


def resolved(address: str) -> object:
    """The port itself, not one of its names. What is no address holds nothing but itself."""
    try:
        parsed = parse_address(address)
    except BenchError:
        return address
    return Path(parsed.path).resolve() if isinstance(parsed, SerialAddress) else parsed
