"""Whether a meter still is as it was set up, though somebody may have used its front panel.

A number alone does not say what was measured. So after each answer the meter is asked what it is set to, and
the readings of that answer count only if it says what it said when it was set up: a look that comes after the
readings and before they are believed leaves no time in which another function's numbers could pass. How a
meter spells its function is its own affair: answers are learnt and compared. They are understood only so far
as to tell, when they are learnt, that the panel was quicker.

All is asked in one message where the meter answers such (IEEE 488.2, 8.4: answers joined by semicolons; the
colon goes back to the root), else one after another.
"""

import re
from collections.abc import Mapping, Sequence

from meterlog.reading import Garbled, Indication, Unanswered
from meterlog_drivers.scpi.answers import NUMBER, split_compound
from meterlog_drivers.scpi.conversation import Conversation
from meterlog_drivers.scpi.dialect_tables import LONGEST_COMMAND
from meterlog_drivers.scpi.plan import Plan, filled

LEARNT_S = 1.0
"""A question that needs no measurement is answered sooner even at 1200 baud, one that is not known never."""
UNSEEN = (
    "the meter does not answer {}: another function chosen at its front panel is not noticed, its numbers "
    "are taken for those of the channel; leave the panel alone"
)
UNASKED = (
    "its dialect has no question for what the meter is set to ([panel]), its numbers carry no unit: another "
    "function chosen at its front panel is not noticed; leave the panel alone"
)
UNSEEN_IN_PART = "the meter does not answer {}: what is changed of that at its front panel is not noticed"
RESTLESS = "the meter was set up and does not stay so: {}; does somebody use its front panel?"
QUICKER = "the meter was set to {} and says that it measures {}: was its front panel used?"
COMPUTES = "the meter does not show what it measures ({} says {}): switch off relative, dB and the like"
_WORDS = r"(?!.*ERR).*[A-Z]{2}.*"
"""Of a function anything in letters, but for a word that some say to what they do not know; others say 1."""
_UNIT = re.compile(rb"[A-DF-Z]", re.IGNORECASE)
"""What no number is spelled with."""
_SWITCH = r"\+?[01]|ON|OFF"
_ON = ("1", "+1", "ON")
_KINDS = ("VOLT", "CURR", "FRES", "RES", "FREQ", "PER", "CAP", "CONT", "DIOD", "TEMP")
_COUPLINGS = ("AC", "DC", "ACDC")


def questions(plan: Plan) -> Mapping[str, str]:
    """What tells that the meter is as it was set up, the function first, and what an answer looks like.

    None without a question for the function; what needs a header is not asked of a function that has none.
    """
    panel, function = plan.dialect.panel, plan.function
    asked = [(panel.function, _WORDS)]
    if function.ranges:
        asked += [(panel.auto, _SWITCH), (panel.range if plan.range_max is not None else "", NUMBER)]
    asked += [(one, _SWITCH) for one in panel.off]
    known = [(one, form) for one, form in asked if one and (function.header or "{header}" not in one)]
    return {_with(function.header, one): form for one, form in known} if panel.function else {}


def _with(header: str, question: str) -> str:
    return filled(question, header=header)


class Panel:
    """What one meter said it is set to when it was set up, and whether it says so still."""

    def __init__(self, conversation: Conversation, plan: Plan) -> None:
        self._conversation = conversation
        self._header = plan.function.header
        self._unknown = plan.dialect.errors.unknown
        self._questions = questions(plan)
        self._off = {_with(self._header, one) for one in plan.dialect.panel.off}
        self._learnt: Mapping[str, bytes] | None = None
        self._binary = bool(plan.format.layout)
        self._unasked = False

    def settle(self) -> str:
        """The meter has just been set up: learn what it says then, or hold it against what was learnt.

        What a person must know of it, or "". Garbled: somebody was quicker at the panel; any WireError.
        """
        if self._learnt is None:
            return self._learn()
        if changed := self.change():
            raise Garbled(RESTLESS.format(changed))
        return ""

    def unasked(self, shown: Sequence[Indication]) -> str:
        """What a person must know, once, where neither the meter nor its numbers tell the function."""
        if self._questions or self._unasked or not any(map(self._is_bare, shown)):
            return ""
        self._unasked = True
        return UNASKED

    def _is_bare(self, one: Indication) -> bool:
        return bool(one.raw) and (self._binary or _UNIT.search(one.raw) is None)

    def change(self) -> str:
        """What is not as it was set up, in words; "" if all is. Any WireError."""
        for message, was in (self._learnt or {}).items():
            now = self._conversation.ask(message).content
            if now.strip() != was:
                return _difference(message, was, now)
        return ""

    def _learn(self) -> str:
        """A meter that does not tell its function is asked for nothing else: it may beep at each question."""
        answers: dict[str, bytes] = {}
        for question, form in self._questions.items():
            answer = self._answer(question)
            if re.fullmatch(form, answer.decode("ascii").upper()):
                answers[question] = answer
            elif not answers:
                self._learnt = {}
                return UNSEEN.format(question)
        self._refuse(answers)
        self._learnt = self._at_once(answers)
        unknown = [question for question in self._questions if question not in answers]
        return UNSEEN_IN_PART.format(", ".join(unknown)) if unknown else ""

    def _answer(self, message: str, parts: int = 1) -> bytes:
        """b"": the meter does not know it, which leaves an error in its queue; or other than `parts` came."""
        try:
            answer = self._conversation.ask(message, LEARNT_S).content.strip()
            whole = len(split_compound(answer)) == parts
        except (Unanswered, Garbled):
            answer, whole = b"", False
        if not answer or not whole:
            self._conversation.fall_quiet()  # a part may still be on its way
        errors = self._conversation.read_errors()
        unknown = any(error.number in self._unknown for error in errors)
        return answer if whole and not unknown else b""

    def _refuse(self, answers: Mapping[str, bytes]) -> None:
        """Garbled: learnt like this, numbers that are not what the channel means would be right for ever."""
        said = {question: answer.decode("ascii") for question, answer in answers.items()}
        if contradicts(function := next(iter(said.values()), ""), self._header):
            raise Garbled(QUICKER.format(self._header, function))
        for question in self._off & said.keys():
            if said[question].upper() in _ON:
                raise Garbled(COMPUTES.format(question, said[question]))

    def _at_once(self, answers: Mapping[str, bytes]) -> Mapping[str, bytes]:
        """The same in one message, if the meter answers that as it answers one by one."""
        message = ";:".join(answers)
        if len(answers) < 2 or len(message) > LONGEST_COMMAND:
            return answers
        together = self._answer(message, len(answers))
        one_by_one = [answer.decode("ascii") for answer in answers.values()]
        return {message: together} if split_compound(together) == one_by_one else answers


def contradicts(answer: str, header: str) -> bool:
    """Whether an answer names another function than the header does, both in the words of SCPI-1999."""
    said, meant = _kind(answer), _kind(header)
    return None not in (said, meant) and said != meant


def _kind(text: str) -> tuple[str, str] | None:
    """Voltage and current alone are DC (SCPI-1999 volume 2, CONFigure)."""
    words = re.findall(r"[A-Z]+", text.upper())
    kinds = [kind for word in words for kind in _KINDS if word.startswith(kind)]
    if not kinds:
        return None
    coupling = next((word for word in words if word in _COUPLINGS), "DC")
    return kinds[0], coupling if kinds[0] in ("VOLT", "CURR") else ""


def _difference(message: str, was: bytes, now: bytes) -> str:
    """The first part that differs, with its question; all of it where the parts do not fit."""
    asked = message.split(";:")
    parts: tuple[Sequence[str], Sequence[str]] = (split_compound(was), split_compound(now))
    if {len(asked)} == {len(part) for part in parts}:
        for question, before, after in zip(asked, *parts, strict=True):
            if before != after:
                return f"{question} says {after}, not {before}"
    return f"{message} says {now[:40]!r}, not {was[:40]!r}"
