"""meterlog instruments find: who is at which port, and the entry for the bench file."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from meterlog.bench import FUNCTION_UNITS, BenchError
from meterlog.bench.find import (
    Entry,
    Finder,
    Finding,
    NamedPort,
    Taken,
    Wish,
    add_entry,
    differing,
    entry_for,
    entry_text,
    find_all,
    names_in,
    recognising,
    serial_ports,
    visa_names,
)
from meterlog.cli.complain import BAD_INPUT, NO, say
from meterlog.cli.finding_said import NO_PORTS, finding_text, ports_text
from meterlog.cli.instrument_options import AsCoupling, Function, held_by_daemon, insist_on
from meterlog.cli.instrument_teach import teach
from meterlog.cli.instrument_watch import watch
from meterlog.cli.options import Data
from meterlog.cli.unplugging import unplugged
from meterlog.daemon.as_json import plain, record
from meterlog.reading import Coupling, Driver, DrivesSources

_SOURCE = "# If this is a generator: write a [[source]] instead, see the README."

Drivers = Annotated[
    list[str] | None, typer.Option("--driver", help="Try this driver only. May be given several times.")
]


def add_to(app: typer.Typer) -> None:
    instruments = typer.Typer(help="Instruments: which are there, what do they send.", no_args_is_help=True)
    instruments.command()(find)
    instruments.command()(watch)
    instruments.command()(teach)
    app.add_typer(instruments, name="instruments")


def find(
    *,
    address: Annotated[
        list[str] | None,
        typer.Option(help="Look here only: a port, or TCPIP::HOST::PORT::SOCKET. Also several times."),
    ] = None,
    unplug: Annotated[
        bool, typer.Option("--unplug", help="Find the port by unplugging its lead, and look there only.")
    ] = False,
    visa: Annotated[
        bool, typer.Option("--visa", help="Also ask the VISA library what it finds. Takes seconds.")
    ] = False,
    listen_only: Annotated[
        bool, typer.Option("--listen-only", help="Send nothing: only meters that talk by themselves.")
    ] = False,
    driver: Drivers = None,
    write: Annotated[
        Path | None, typer.Option(help="Add what is found to this bench file, which may be a new one.")
    ] = None,
    name: Annotated[str, typer.Option(help="What the meter is called in the bench file.")] = "",
    channel: Annotated[str, typer.Option(help="What its channel is called, as procedures want it.")] = "",
    function: Function = "",
    coupling: AsCoupling = "",
    as_json: Annotated[bool, typer.Option("--json", help="For programs.")] = False,
    data: Data = None,
) -> None:
    """Say which instrument is at which port, or what is wrong there, and make the bench file's entry.

    Ports that the running daemon reads are left alone. Exit code 1: no instrument was recognised.
    """
    wish = _wish(name, channel, function, coupling)
    drivers, faults = recognising(driver or ())
    ports = serial_ports()
    addresses = address or ([unplugged(ports).address] if unplug else [one.address for one in ports])
    addresses += visa_names() if visa else []
    if not (as_json or address):
        print(ports_text(ports) or NO_PORTS, end="\n\n")
    for fault in faults:
        say(fault)
    finder = Finder(drivers, may_ask=not listen_only)
    findings = find_all(finder, addresses, held_by_daemon(data), say)
    entries = _made(findings, drivers, wish, names_in(write) if write else Taken())
    if as_json:
        _print_json(ports, findings, entries)
    else:
        _print(findings, drivers, entries)
    if not entries:
        raise typer.Exit(NO)
    if write and not _write(write, entries):
        raise typer.Exit(BAD_INPUT)


def _wish(name: str, channel: str, function: str, coupling: str) -> Wish:
    if function:
        insist_on("--function", function, FUNCTION_UNITS)
    insist_on("--coupling", coupling, tuple(Coupling))
    return Wish(name, channel, function, coupling)


def _made(findings: Sequence[Finding], drivers: dict[str, Driver], wish: Wish, taken: Taken) -> list[Entry]:
    """One entry for each instrument that was recognised. BenchError: one name for several."""
    known = [finding for finding in findings if finding.matches]
    if len(known) > 1 and (wish.name or wish.channel):
        raise BenchError(f"{len(known)} instruments answer: choose one with --address or --unplug to name it")
    entries: list[Entry] = []
    for finding in known:
        match = finding.matches[0]
        line = differing(drivers[match.driver], match)
        entries.append(entry_for(finding, match, line=line, wish=wish, taken=taken.with_those_of(entries)))
    return entries


def _write(path: Path, entries: Sequence[Entry]) -> bool:
    """Each by itself; False if one was refused, which is said."""
    sound = True
    for entry in entries:
        try:
            add_entry(path, entry)
        except BenchError as error:
            say(str(error))
            sound = False
        else:
            say(f"{path}: “{entry.name}” added; start the daemon anew to use it")
    return sound


def _print_json(ports: Sequence[NamedPort], findings: Sequence[Finding], entries: Sequence[Entry]) -> None:
    texts = {entry.address: entry_text(entry) for entry in entries}
    found = [record(finding) | {"entry": texts.get(finding.address, "")} for finding in findings]
    print(json.dumps({"ports": plain(ports), "found": found}, ensure_ascii=False, indent=2))


def _print(findings: Sequence[Finding], drivers: dict[str, Driver], entries: Sequence[Entry]) -> None:
    for finding in findings:
        print(finding_text(finding, lambda name: drivers[name].summary), end="\n\n")
    if entries:
        print("For the bench file (--write FILE puts it there):\n")
    for entry in entries:
        if isinstance(drivers[entry.driver], DrivesSources):
            print(_SOURCE)
        print(entry_text(entry))
