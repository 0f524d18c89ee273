"""A SCPI meter that follows IEEE 488.2 closely enough to be asked for an identity, errors and readings."""

from collections.abc import Callable, Sequence

from tests.drivers.fake_wire import Chunks

IDENTITY = "ACME,M1,123,1.0"


class FakeMeter:
    """reading: what READ? gives back. known: beginnings of the commands it obeys."""

    def __init__(
        self, reading: Callable[[], Chunks] = lambda: [(0.35, b"+1.00000000E+00\n")], end: bytes = b"\n"
    ) -> None:
        self.identity = IDENTITY
        self.reading = reading
        self.known: Sequence[str] = (
            "CONF:",
            "VOLT:AC:BAND ",
            "SAMP:COUN ",
            "FORM:",
            "SYST:REM",
            "SYST:LOC",
            "*CLS",
        )
        self.events = 0
        self.errors: list[str] = []
        self.heard: list[str] = []
        self.silent = False
        self._end = end

    def __call__(self, line: bytes) -> Chunks:
        command = line.decode("ascii").strip()
        self.heard.append(command)
        if self.silent:
            return ()
        if command == "READ?":
            return self.reading()
        answer = self._answer(command)
        return () if answer is None else [(0.002, answer.encode("ascii") + self._end)]

    def _answer(self, command: str) -> str | None:
        if command == "SYST:ERR?":
            return self.errors.pop(0) if self.errors else '+0,"No error"'
        if command == "*ESR?":
            events, self.events = self.events, 0
            return str(events)
        if command in ("*IDN?", "*OPC?"):
            return self.identity if command == "*IDN?" else "1"
        if not command.startswith(tuple(self.known)):
            self.errors.append(f'-113,"Undefined header;{command}"')
        return None
