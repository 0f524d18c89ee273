"""Which ports there are, who is at one of them, and the entry for the bench file."""

from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from meterlog.bench import FUNCTION_UNITS, BenchError
from meterlog.bench.find import (
    Finding,
    Match,
    Wish,
    add_entry,
    differing,
    dump,
    entry_for,
    entry_text,
    held_by,
    indicated,
    names_in,
    serial_ports,
    taken_advice,
)
from meterlog.daemon.as_json import plain, record
from meterlog.daemon.context import Context, Here
from meterlog.daemon.errors import Refusal
from meterlog.reading import Driver

router = APIRouter(prefix="/api/instruments", tags=["instruments"])

Word = Annotated[str, Field(max_length=80, pattern=r"^[^\x00-\x1f\x7f]*$")]
Address = Annotated[str, Field(min_length=1, max_length=300, pattern=r"^[^\x00-\x1f\x7f]*$")]


def _measured(function: str) -> str:
    if function and function not in FUNCTION_UNITS:
        raise ValueError(f"write one of {', '.join(FUNCTION_UNITS)}")
    return function


class Look(BaseModel):
    """`listen_only`: send nothing, so that only meters that talk by themselves are recognised."""

    model_config = ConfigDict(extra="forbid")

    address: Address
    listen_only: bool = False


class Choice(BaseModel):
    """Which match of the last look at `address`, counted from 0, and what it shall be called.

    Empty words leave the choice to what was found. `write`: into the daemon's own bench file.
    """

    model_config = ConfigDict(extra="forbid")

    address: Address
    match: Annotated[int, Field(ge=0)] = 0
    name: Word = ""
    channel: Word = ""
    function: Annotated[str, AfterValidator(_measured)] = ""
    coupling: Literal["", "dc", "ac", "acdc"] = ""
    write: bool = False


@router.get("")
def instruments(here: Here) -> dict[str, Any]:
    """Serial ports with the address to write down; lines that the bench reads; what is being tried just now.

    `taken_do` is what helps where a port goes again as soon as it has come.
    """
    return {
        "ports": plain(serial_ports()),
        "held": plain(held_by(here.bench)),
        "looking": here.search.doing,
        "longest_s": here.search.longest_s,
        "bench_file": None if here.bench_file is None else str(here.bench_file),
        "functions": list(FUNCTION_UNITS),
        "taken_do": taken_advice(),
    }


@router.post("/look")
def look(wanted: Look, here: Here) -> dict[str, Any]:
    """Who is there; answers when that is known, or all was tried. The bench's own lines are left alone."""
    try:
        found = here.search.look(here.bench, wanted.address, may_ask=not wanted.listen_only)
    except BenchError as error:
        raise Refusal(422, str(error), do="Look at the address.") from error
    return _found(found, here.search.drivers)


@router.post("/entry")
def entry(choice: Choice, here: Here) -> dict[str, Any]:
    """The tables for the bench file; with `write` put into it, which the daemon reads when it starts."""
    finding = here.search.found(choice.address)
    if choice.match >= len(finding.matches):
        raise Refusal(409, "Nothing of that number was recognised there.", choice.address, "Look again.")
    match = finding.matches[choice.match]
    try:
        made = entry_for(
            finding,
            match,
            line=differing(here.search.drivers[match.driver], match),
            wish=Wish(choice.name, choice.channel, choice.function, choice.coupling),
            taken=names_in(here.bench_file) if here.bench_file else None,
        )
        if choice.write:
            add_entry(_bench_file(here), made)
    except BenchError as error:
        first, *more = str(error).splitlines()
        raise Refusal(422, first, problems=tuple(more)) from error
    return {"entry": plain(made), "text": entry_text(made), "written": choice.write}


def _bench_file(here: Context) -> Path:
    if here.bench_file is None:
        raise Refusal(409, "The daemon was not told its bench file.", do="Copy the text into it.")
    return here.bench_file


def _found(finding: Finding, drivers: dict[str, Driver]) -> dict[str, Any]:
    """With every text that is shown, so that the page need not know how bytes are written."""
    return record(finding) | {
        "matches": [_match(match, drivers[match.driver]) for match in finding.matches],
        "shows": [indicated(shown) for shown in finding.shows],
        "heard": [
            {"line": str(one.line or ""), "data": one.data.hex(), "lines": dump(one.data)}
            for one in finding.heard
        ],
    }


def _match(match: Match, driver: Driver) -> dict[str, Any]:
    return record(match) | {
        "line": str(match.line or ""),
        "summary": driver.summary,
        "maturity": str(driver.maturity),
    }
