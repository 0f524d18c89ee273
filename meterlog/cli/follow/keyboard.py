"""What the keys mean. No terminal here: keys come in as names, and what the operator asks for comes out."""

from dataclasses import dataclass

SPACE, ENTER, ESCAPE, BACKSPACE, PAGE_DOWN = " ", "\n", "esc", "backspace", "page down"
GO_ON = (SPACE, ENTER, PAGE_DOWN)  # what foot switches type
BOUNCE_S = 0.4
HELP = (
    "space or pedal: go on  e enter  r redo  s skip  n note  t temperature  p pause  "
    "a set aside  b break off  i inoperable  q leave"
)
NOT_ASKED = "nothing is asked for here"
_ASKING = {
    "r": "redo",
    "s": "skip",
    "n": "note",
    "t": "environment",
    "a": "set-aside",
    "b": "break-off",
    "i": "inoperable",
    "o": "other-meter",
}


@dataclass(frozen=True, slots=True)
class Request:
    """An action for the daemon; `leave` ends the view and nothing else.

    `refused` says why what was typed goes nowhere: the daemon is not asked.
    """

    kind: str = ""
    text: str = ""
    refused: str = ""
    leave: bool = False


class Keyboard:
    """`asking` is what a text is being typed for, "" if none is; `typed` is that text so far.

    `wanted` is the reading or the name that the text is to be. An entry that is wanted by no step, or no
    longer, is typed to its end all the same and then refused: its letters must not act as keys.
    """

    def __init__(self) -> None:
        self.asking = ""
        self.typed = ""
        self.wanted = ""
        self._went_on_s = float("-inf")

    def press(self, key: str, at_s: float, *, paused: bool, asks_for: str = "") -> Request | None:
        """One key at a time on any even clock. None: nothing to be asked of the daemon yet.

        `asks_for`: what the step wants typed in. Every key that goes on then begins that.
        """
        if self.asking == "enter" and asks_for != self.wanted:
            self.wanted = ""  # what was typed was for something that is asked for no more
        if self.asking:
            return self._type(key)
        if key == "e" or (asks_for and key in GO_ON):
            self.asking, self.wanted = "enter", asks_for
            return None
        if key in GO_ON:
            return self._go_on(at_s)
        if key == "q":
            return Request(leave=True)
        if key == "p":
            return Request("resume" if paused else "pause")
        self.asking = _ASKING.get(key, "")
        return None

    def _go_on(self, at_s: float) -> Request | None:
        """A held or bouncing switch types again and again; the terminal does not tell that from presses."""
        bounced = at_s - self._went_on_s < BOUNCE_S
        self._went_on_s = at_s
        return None if bounced else Request("go-on")

    def _type(self, key: str) -> Request | None:
        if key == ENTER:
            return self._send()
        if key == ESCAPE:
            self._leave()
        elif key == BACKSPACE:
            self.typed = self.typed[:-1]
        elif len(key) == 1 and key.isprintable():
            self.typed += key
        return None

    def _send(self) -> Request | None:
        """Nothing typed is no reading and no name: a second press of a bouncing switch says nothing."""
        request = Request(self.asking, self.typed.strip())
        unwanted = self.asking == "enter" and not self.wanted
        self._leave()
        if unwanted:
            return Request(refused=_refusal(request.text))
        return None if request == Request("enter", "") else request

    def _leave(self) -> None:
        self.asking = self.typed = self.wanted = ""


def _refusal(typed: str) -> str:
    return f"{NOT_ASKED}: {typed!r} was not taken" if typed else NOT_ASKED
