"""A SCPI meter that follows IEEE 488.2 closely enough to be asked for an identity, errors and readings."""

from collections.abc import Callable, Mapping, Sequence

from meterlog.testing import Chunks

IDENTITY = "ACME,M1,123,1.0"
CTRL_C = "\x03"
"""Device clear on RS-232; it ends no line."""


class FakeMeter:
    """reading: what READ? gives back. known: beginnings of the commands it obeys. refuses: commands, and why.

    function, range_text ("" for auto) and relative are what CONF sets, or somebody at the front panel;
    untold: questions about them that it does not know.

    A message with several questions is answered by their answers, joined by semicolons.
    """

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
        self.answers: dict[str, str] = {}
        self.function, self.range_text, self.relative = "VOLT", "", False
        self.untold: Sequence[str] = ()
        self.refuses: Mapping[str, str] = {}
        self.events = 0
        self.errors: list[str] = []
        self.heard: list[str] = []
        self.silent = False
        self._end = end

    def __call__(self, line: bytes) -> Chunks:
        message = line.decode("ascii").strip()
        self.heard.append(message)
        if self.silent:
            return ()
        if message == CTRL_C:
            return ()
        if message == "READ?":
            return self.reading()
        answers = [answer for one in message.split(";") if (answer := self._answer(one)) is not None]
        return [(0.002, ";".join(answers).encode("ascii") + self._end)] if answers else ()

    def _answer(self, command: str) -> str | None:
        if command in self.answers:
            return self.answers[command]
        if command == "SYST:ERR?":
            return self.errors.pop(0) if self.errors else '+0,"No error"'
        if command == "*ESR?":
            events, self.events = self.events, 0
            return str(events)
        if command == "*STB?":
            return str(4 if self.errors else 0)
        if command in ("*IDN?", "*OPC?"):
            return self.identity if command == "*IDN?" else "1"
        if (told := self._set_to(command.removeprefix(":"))) is not None:
            return told
        self._obey(command)
        return None

    def _set_to(self, question: str) -> str | None:
        """What is at the front panel too."""
        if question in self.untold:
            return None
        if question == "FUNC?":
            return f'"{self.function}"'
        if question.endswith(("CALC:STAT?", ":NULL:STAT?", ":REF:STAT?")):
            return str(int(self.relative))
        if question.endswith(":RANG:AUTO?"):
            return str(int(not self.range_text))
        return f"{float(self.range_text or 10):+.8E}" if question.endswith(":RANG?") else None

    def _obey(self, command: str) -> None:
        if command == "*CLS":
            self.errors.clear()
        elif command in self.refuses:
            self.errors.append(self.refuses[command])
        elif not command.startswith(tuple(self.known)):
            self.errors.append(f'-113,"Undefined header;{command}"')
        elif command.startswith("CONF:"):
            header, _, wanted = command.removeprefix("CONF:").partition(" ")
            self.function, self.range_text, self.relative = header, wanted.partition(",")[0], False
