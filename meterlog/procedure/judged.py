"""What a step comes to under the decision rule of its procedure.

A pattern goes by the limits alone: the hand needs an answer before anybody can say how sure the value is. So
its verdict is the one of simple acceptance, and that of the step says the same in the words of the rule.
"""

from meterlog.accuracy import Verdict, worst
from meterlog.procedure.events import Role, SettledValue


class Judged:
    """The values of one attempt."""

    def __init__(self) -> None:
        self._verdicts: dict[tuple[str, Role], tuple[Verdict, Verdict]] = {}

    def keep(self, simple: Verdict, value: SettledValue) -> None:
        """simple: its verdict by the limits alone. The last value of its kind counts: the last round's."""
        self._verdicts[value.condition, value.role] = (simple, value.verdict)

    def verdict(self, simple: Verdict) -> Verdict:
        """Of the step, whose verdict by limits and by all else that the pattern saw is `simple`.

        A failure that no value shows stays one. Otherwise the values of that verdict say it by the rule.
        """
        by_rule = [ruled for alone, ruled in self._verdicts.values() if alone is simple]
        if simple is Verdict.PASS:
            by_rule = [ruled for alone, ruled in self._verdicts.values() if alone is not Verdict.NOT_JUDGED]
        return worst(by_rule) if by_rule and simple is not Verdict.NOT_JUDGED else simple
