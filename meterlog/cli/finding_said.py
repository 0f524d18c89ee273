"""What `meterlog instruments find` prints: ports, findings, and how unplugging goes. Pure."""

from collections.abc import Callable, Iterator, Sequence

from meterlog.bench.find import Finding, Match, NamedPort, Stage, Unplugging, dump
from meterlog.bench.find.watching import indicated

Described = Callable[[str], str]
"""From a driver's name to what it is for."""

NO_PORTS = (
    "no serial port was found. Plug the adapter in; on Linux `dmesg | tail` then says what became of it. "
    "An instrument on the network is named with --address, such as TCPIP::192.168.1.20::5025::SOCKET"
)
UNPLUG = "Unplug the lead that you mean, at the computer; if it is not plugged in, plug it in."


def ports_text(ports: Sequence[NamedPort]) -> str:
    """One port in each block: the name to write down, what it is, what to think of."""
    return "\n".join(line for named in ports for line in _port_lines(named))


def _port_lines(named: NamedPort) -> Iterator[str]:
    is_link = named.address != named.port.device
    more = [named.port.device if is_link else "", named.port.description]
    yield " · ".join([named.address, *(text for text in more if text)])
    if named.note:
        yield f"    {named.note}"


def finding_text(finding: Finding, described: Described) -> str:
    """Who it is, or what is wrong, what was heard, and what to do."""
    lines = _known_lines(finding, described) if finding.matches else _unknown_lines(finding)
    return "\n".join([finding.address, *(f"  {line}" for line in lines)])


def _known_lines(finding: Finding, described: Described) -> Iterator[str]:
    first, *others = finding.matches
    yield f"✓ {_match(first)}: {described(first.driver)}"
    yield f"says of itself: {first.identity.text}"
    for shown in finding.shows:
        yield f"shows: {indicated(shown)}"
    for other in others:
        yield f"could also be {_match(other)}: {described(other.driver)}"


def _match(match: Match) -> str:
    dialect = f", dialect {match.dialect}" if match.dialect else ""
    return f"{match.driver}{dialect}" + (f" at {match.line}" if match.line else "")


def _unknown_lines(finding: Finding) -> Iterator[str]:
    yield f"✗ {finding.says}"
    for heard in finding.heard:
        if heard.data:
            yield f"heard at {heard.line}:" if heard.line else "heard:"
            yield from (f"  {line}" for line in dump(heard.data))
    yield from (f"{number}. {step}" for number, step in enumerate(finding.do, start=1))


def unplugging_text(at: Unplugging) -> str:
    """What to do next, or which one it was."""
    name = at.port.address if at.port else ""
    match at.stage:
        case Stage.GONE:
            return f"{name} has gone. Plug it in again."
        case Stage.BACK:
            return f"{name} has come; a moment..."
        case Stage.STAYED:
            return "\n".join(["It is:", *_port_lines(at.port)]) if at.port else ""
        case Stage.TAKEN:
            return f"{name} came and went again: a service of this computer takes the adapter."
        case Stage.SEVERAL:
            return "Several ports have gone at once: nobody can tell which is meant. Unplug one lead alone."
    return UNPLUG
