"""What every SCPI instrument of the bench has in common: table of commands, error queue, event register.

After IEEE 488.2 (commands with an asterisk, standard event status register) and SCPI-1999 volume 2
(SYSTem:ERRor).
"""

from collections import deque
from collections.abc import Callable, Mapping

from meterlog.simulate.scpi_words import Command, commands, number, pattern

QUEUE_SIZE = 20
TEXTS = {
    -109: "Missing parameter",
    -113: "Undefined header",
    -221: "Settings conflict",
    -222: "Data out of range",
    -224: "Illegal parameter value",
    -230: "Data corrupt or stale",
    -350: "Queue overflow",
}

Acts = Mapping[str, Callable[[Command], str | None]]


class Refusal(Exception):  # noqa: N818 - carries an entry of the error queue
    def __init__(self, code: int, about: str = "") -> None:
        super().__init__(code, about)
        text = f"{TEXTS[code]};{about}" if about else TEXTS[code]
        self.entry = '{},"{}"'.format(code, text.replace('"', '""'))
        self.code = code


class ScpiInstrument:
    """Program messages in, response messages out. Used by one thread at a time."""

    identity: str

    def __init__(self) -> None:
        self._errors: deque[str] = deque()
        self._events = 0x80  # power on
        written = {**self._common(), **self._commands()}
        self._table = [(pattern(header), act) for header, act in written.items()]

    def answer(self, message: str) -> str | None:
        """Obey one line; the responses of its queries joined by ";", or None when it asked nothing."""
        answers = []
        for command in commands(message):
            try:
                answer = self._obey(command)
            except Refusal as refused:
                self._queue(refused)
                continue
            if answer is not None:
                answers.append(answer)
        return ";".join(answers) if answers else None

    def _commands(self) -> Acts:
        """Its own, by header as manuals write them."""
        raise NotImplementedError

    def _reset(self) -> None:
        """*RST."""
        raise NotImplementedError

    def _common(self) -> Acts:
        return {
            "*IDN?": lambda _: self.identity,
            "*CLS": lambda _: self._clear(),
            "*RST": lambda _: self._reset(),
            "*OPC": lambda _: self._event(0x01),
            "*OPC?": lambda _: "1",
            "*WAI": lambda _: None,
            "*ESR?": lambda _: self._take_events(),
            "*STB?": lambda _: str(0x04 if self._errors else 0),
            "SYSTem:ERRor[:NEXT]?": lambda _: self._errors.popleft() if self._errors else '0,"No error"',
            "SYSTem:VERSion?": lambda _: "1999.0",
            "SYSTem:REMote": lambda _: None,
            "SYSTem:LOCal": lambda _: None,
        }

    def _obey(self, command: Command) -> str | None:
        for headers, act in self._table:
            if headers.fullmatch(command.header):
                return act(command)
        raise Refusal(-113, command.header)

    def _queue(self, refused: Refusal) -> None:
        self._event(0x20 if refused.code > -200 else 0x10)
        if len(self._errors) < QUEUE_SIZE:
            self._errors.append(refused.entry)
        else:
            self._errors[-1] = Refusal(-350).entry

    def _clear(self) -> None:
        self._errors.clear()
        self._events = 0

    def _event(self, bit: int) -> None:
        self._events |= bit

    def _take_events(self) -> str:
        events, self._events = self._events, 0
        return str(events)


def argument(command: Command) -> float:
    """The number that a command must have."""
    if not command.arguments:
        raise Refusal(-109)
    value = number(command.arguments[0])
    if value is None:
        raise Refusal(-224, command.arguments[0])
    return value


def nr3(value: float) -> str:
    return f"{value:+.8E}"
