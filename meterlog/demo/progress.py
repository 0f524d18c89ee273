"""What the terminal shows while the technician works: the step at hand, the number, how far it has come."""

from types import TracebackType
from typing import Any, Self

from rich.console import Console, Group
from rich.live import Live
from rich.progress_bar import ProgressBar
from rich.text import Text

from meterlog.demo.eyes import LiveView

_CLOSED = ("done", "skipped")


class Progress:
    """A small live display on a terminal; one line a step where the output is no terminal."""

    def __init__(self, console: Console) -> None:
        self._console = console
        self._live = Live(console=console, refresh_per_second=8, transient=True)
        self._place = -1

    def __enter__(self) -> Self:
        if self._console.is_terminal:
            self._live.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._live.stop()

    def show(self, view: LiveView) -> None:
        shown = view.live.get("view")
        if not shown:
            return
        if self._console.is_terminal:
            self._live.update(_picture(shown, len(view.stored)))
        elif shown["place"] != self._place:
            self._place = shown["place"]
            self._console.print(_headline(shown))


def _headline(shown: dict[str, Any]) -> str:
    return f"{shown['place'] + 1:3d}/{len(shown['plan'])}  {shown['pass_']:9s} {shown['title']}"


def _picture(shown: dict[str, Any], stored: int) -> Group:
    guide = shown["guide"]
    closed = sum(step["state"] in _CLOSED for step in shown["plan"])
    number = guide.get("present_text") or "-"
    distance = guide.get("distance_text") or ""
    return Group(
        Text(_headline(shown), style="bold"),
        ProgressBar(total=len(shown["plan"]), completed=closed, width=60),
        Text(f"{number}   {distance}   {shown['step_state']}", style="bold cyan"),
        Text(guide["do_now"]),
        Text(f"{stored} settled values stored", style="dim"),
    )
