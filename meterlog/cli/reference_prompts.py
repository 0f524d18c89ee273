"""What a person at the terminal is asked during a check."""

from meterlog.checking.points_file import Point
from meterlog.cli.complain import say
from meterlog.quantity import Quantity

_LEAVE_OUT = "s"


class Prompts:
    """`ask` False: all is connected already, and what does not settle is left out.

    given_up  whether a point was left out because it did not settle
    """

    def __init__(self, *, ask: bool) -> None:
        self._ask = ask
        self.given_up = False

    def ready(self, point: Point) -> bool:
        print(f"\n{point.name}: {_asked_for(point)}", flush=True)
        if point.setup:
            print(f"  {point.setup}", flush=True)
        return not self._ask or self._answer("Enter when it is connected, s to leave it out: ")

    def again(self, point: Point, why: str) -> bool:
        say(f"{point.name}: not settled within {point.patience:g} s: {why}")
        again = self._ask and self._answer("Enter to try again, s to leave it out: ")
        self.given_up = self.given_up or not again
        return again

    def say(self, text: str) -> None:
        print(text, flush=True)

    def _answer(self, question: str) -> bool:
        """No more input is as good as leaving out: nobody is there."""
        try:
            return input(question).strip().lower() != _LEAVE_OUT
        except EOFError:
            return False


def _asked_for(point: Point) -> str:
    """What must be at the meter's input."""
    against = point.reference or f"what {point.against} reads"
    words: list[Quantity | str] = [point.value, str(point.coupling)]
    if point.frequency:
        words += ["at", point.frequency]
    if point.range:
        words += ["on range", point.range]
    return f"{' '.join(str(word) for word in words if word)}, from {against}"
