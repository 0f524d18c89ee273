"""Which rows of a table are done and how they came out."""

from meterlog.accuracy import Verdict
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.model.rows import Row


class RowsTaken:
    """Rows still to do, in order, and the verdicts and skips of the others."""

    def __init__(self, rows: tuple[Row, ...]) -> None:
        self._all = rows
        self._to_do = list(rows)
        self._verdicts: dict[str, Verdict] = {}
        self._short: set[str] = set()  # rows inside their limits that do not pass by the rule
        self._skipped: dict[str, str] = {}
        self._ever_taken: set[str] = set()
        self._last: Row | None = None

    @property
    def at_hand(self) -> Row | None:
        """None after the last one."""
        return self._to_do[0] if self._to_do else None

    @property
    def place(self) -> str:
        return f"row {len(self._all) - len(self._to_do) + 1} of {len(self._all)}"

    def was_taken(self, row: Row) -> bool:
        return row.label in self._ever_taken

    def take(self, row: Row, verdict: Verdict, *, passes: bool) -> None:
        self._verdicts[row.label] = verdict
        if verdict is not Verdict.FAIL and not passes:
            self._short.add(row.label)
        self._ever_taken.add(row.label)
        self._left(row)

    def skip(self, row: Row, reason: str) -> None:
        self._skipped[row.label] = reason
        self._left(row)

    def _left(self, row: Row) -> None:
        self._to_do.remove(row)
        self._last = row

    def done(self, name: str) -> Row:
        """The row of this name, the last one if "". IllegalAction where that has not been done."""
        if not name and self._last is not None:
            return self._last
        done = {row.label: row for row in self._all if row not in self._to_do}
        if name not in done:
            raise IllegalAction(f"no row {name!r} has been taken; taken are {', '.join(done) or 'none'}")
        return done[name]

    def again(self, rows: tuple[Row, ...]) -> None:
        """These first, then what was still to do."""
        self._to_do = [*rows, *(row for row in self._to_do if row not in rows)]
        for row in rows:
            self._verdicts.pop(row.label, None)
            self._skipped.pop(row.label, None)
            self._short.discard(row.label)

    @property
    def amiss(self) -> bool:
        """Whether a row should be looked at again before the table ends."""
        return self.failed or bool(self._short)

    @property
    def failed(self) -> bool:
        return Verdict.FAIL in self._verdicts.values()

    @property
    def verdict(self) -> Verdict:
        """The worst row's; a row left out leaves a table that has not failed unjudged."""
        if self.failed:
            return Verdict.FAIL
        passed = Verdict.PASS in self._verdicts.values() and not self._skipped
        return Verdict.PASS if passed else Verdict.NOT_JUDGED

    @property
    def reason(self) -> str:
        """What a reader of the record wants to know; "" where every row is in."""
        outside = [label for label, verdict in self._verdicts.items() if verdict is Verdict.FAIL]
        parts = [f"outside: {', '.join(outside)}"] if outside else []
        short = [label for label in self._verdicts if label in self._short]
        parts += [f"inside by less than the guard band: {', '.join(short)}"] if short else []
        parts += [f"{label} left out: {reason}" for label, reason in self._skipped.items()]
        return "; ".join(parts)
