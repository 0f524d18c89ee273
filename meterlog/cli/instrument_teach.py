"""meterlog instruments teach: which bit of a frame is which segment of the display, by showing and typing."""

import time
from contextlib import closing
from pathlib import Path
from typing import Annotated

import typer

from meterlog.bench import BenchError, SystemClock, installed_drivers, load_driver, open_wire
from meterlog.bench.find import dump_line, holding, line_from, next_frame
from meterlog.cli.complain import say
from meterlog.cli.instrument_options import held_by_daemon
from meterlog.cli.options import Data
from meterlog.reading import LearnsDisplays, Line, Taught, WireLost

_HOW = (
    "Let the meter show something steady. Type what stands there: digits, _ for a dark one, then every sign "
    "that is lit, as in -12.34 mV DC auto. Enter alone ends it. Some twenty different pictures are needed."
)
_AGAIN_S = 0.5


def teach(
    address: Annotated[str, typer.Argument(help="The port of a meter that sends pictures of its display.")],
    *,
    line: Annotated[str, typer.Option(help='How to open it: "2400 8N1".')] = "2400 8N1",
    digits: Annotated[int, typer.Option(min=1, max=8, help="How many digits the display has.")] = 4,
    name: Annotated[str, typer.Option(help="What the description is called.")] = "my meter",
    write: Annotated[Path | None, typer.Option(help="Write the description to this new file.")] = None,
    data: Data = None,
) -> None:
    """Learn from a meter no driver knows which bit is which: begin a description of it (docs/dialects.md).

    Exit code 1: no picture was shown.
    """
    if busy := holding(held_by_daemon(data), address):
        raise BenchError(f"the daemon reads “{busy.instrument}” on this line; end it first")
    if write is not None and write.exists():
        raise BenchError(f"{write} is there already; name a new file")
    learner = _learner()
    print(_HOW)
    with closing(_Port(address, line_from(line))) as port:
        taught = _lessons(port, learner, digits, name)
    if taught is None:
        raise typer.Exit(1)
    if write is None:
        print(f"\n{taught.draft}")
    else:
        write.write_text(taught.draft, encoding="utf-8")
        say(f"{write} written; what is still open stands in it as a remark")


def _learner() -> LearnsDisplays:
    for name in installed_drivers():
        driver = load_driver(name)
        if isinstance(driver, LearnsDisplays):
            return driver
    raise BenchError("no installed driver reads descriptions of displays")


class _Port:
    """The meter's line. One that is lost is waited for: what was typed so far is too much to type again."""

    def __init__(self, address: str, line: Line) -> None:
        self._address, self._line, self._clock = address, line, SystemClock()
        self._wire = open_wire(address, line)

    def frame(self) -> bytes:
        """The next one; b"" where none came, and it was said why."""
        try:
            self._wire.drop_input()
            return next_frame(self._wire, self._clock)
        except BenchError as silence:
            say(f"{silence} Then type it again")
        except WireLost as lost:
            say(f"{lost}. Plug it in again, nothing is forgotten; Ctrl-C ends with what was learnt")
            self._come_back()
        return b""

    def _come_back(self) -> None:
        self._wire.close()
        while True:
            try:
                self._wire = open_wire(self._address, self._line)
            except WireLost:
                time.sleep(_AGAIN_S)
            else:
                say("it is back; type it again")
                return

    def close(self) -> None:
        self._wire.close()


def _lessons(port: _Port, learner: LearnsDisplays, digits: int, name: str) -> Taught | None:
    """One picture after the other, until nothing is typed, or Ctrl-C. One that cannot be is left out."""
    examples: list[tuple[bytes, str]] = []
    taught: Taught | None = None
    try:
        while shown := _asked(len(examples) + 1):
            if not (frame := port.frame()):
                continue
            print(f"  {dump_line(frame)}")
            try:
                taught = learner.learn([*examples, (frame, shown)], digits, name)
            except ValueError as refusal:
                say(f"{refusal}; left out")
                continue
            examples.append((frame, shown))
            print("\n".join(f"  {line}" for line in taught.text.splitlines()))
    except KeyboardInterrupt:
        say("ended")
    return taught


def _asked(number: int) -> str:
    try:
        return input(f"{number}. The display shows: ").strip()
    except EOFError:
        return ""
