"""Which dialect a meter speaks: the bench file says so, else a question that only one of them answers so.

Asked only where it makes a difference, for a meter may beep at each question it does not know.
"""

import logging
import re

from meterlog.reading import Identity, Settings, Unanswered, WireError
from meterlog_drivers.scpi.answers import parse_elements, parse_integer
from meterlog_drivers.scpi.assembler import Answer
from meterlog_drivers.scpi.conversation import Conversation
from meterlog_drivers.scpi.dialect import Dialect
from meterlog_drivers.scpi.dialect_file import PLAIN, PROBED, find_dialect, shipped
from meterlog_drivers.scpi.dialect_tables import Probe
from meterlog_drivers.scpi.plan import plan_of

PROBE_S = 0.5
"""A question that needs no measurement is answered much sooner, one that is not known never."""

log = logging.getLogger(__name__)


def check(settings: Settings) -> None:
    """ValueError: no dialect that may be chosen can do what the settings ask for."""
    names = [settings.dialect] if settings.dialect else [PLAIN, *(n for n in shipped() if n != PLAIN)]
    refusals = []
    for name in names:
        try:
            plan_of(settings, find_dialect(name))
        except ValueError as refusal:
            refusals.append(refusal)
    if len(refusals) == len(names):
        raise refusals[0]


def first_dialect(settings: Settings) -> Dialect:
    """The one that is named, else the plain one, in which the meter is asked who it is."""
    return find_dialect(settings.dialect or PLAIN)


def dialect_for(conversation: Conversation, settings: Settings, identity: Identity) -> Dialect:
    """The one that is named; else, where it makes a difference, the one that proves itself."""
    if settings.dialect:
        named = find_dialect(settings.dialect)
        if not _may_be(named, identity):
            log.warning(
                '"%s" is none that the dialect "%s" is for; used all the same', identity.text, named.name
            )
        return named
    differs = settings.ac_filter_hz is not None or settings.second or settings.options.get("buffered")
    if differs or not _has_a_queue(conversation):
        return choose(conversation, settings, identity)
    return find_dialect(PLAIN)


def _has_a_queue(conversation: Conversation) -> bool:
    """A meter that does not answer SYST:ERR? is none of SCPI, whatever it says to *IDN?."""
    try:
        conversation.read_errors()
    except Unanswered:
        conversation.fall_quiet()
        return False
    return True


def choose(conversation: Conversation, settings: Settings, identity: Identity) -> Dialect:
    """The first dialect that proves itself and can do what is asked for; the plain one if none does."""
    for dialect in map(find_dialect, PROBED):
        if _suits(dialect, settings) and _may_be(dialect, identity) and _proves(conversation, dialect.probe):
            log.info('"%s" speaks the dialect "%s"', identity.text, dialect.name)
            return dialect
    log.info(
        '"%s" proves no dialect; taken for "%s". Name it in the bench file if you know it',
        identity.text,
        PLAIN,
    )
    return find_dialect(PLAIN)


def _suits(dialect: Dialect, settings: Settings) -> bool:
    """It can do what is asked for, and is not only another name for one without a memory."""
    if dialect.memory and not settings.options.get("buffered"):
        return False
    try:
        plan_of(settings, dialect)
    except ValueError:
        return False
    return True


def _may_be(dialect: Dialect, identity: Identity) -> bool:
    return not dialect.identity or any(part in identity.text for part in dialect.identity)


def _proves(conversation: Conversation, probe: Probe | None) -> bool:
    """What is not known is answered by nothing and leaves an error, which is cleared away."""
    if probe is None:
        return False
    try:
        proven = is_proof(probe, conversation.ask(probe.question, PROBE_S).answer)
    except Unanswered:
        conversation.fall_quiet()
        proven = False
    conversation.tell("*CLS")
    return proven and parse_integer(conversation.ask("*OPC?").content) == 1


def is_proof(probe: Probe, answer: Answer) -> bool:
    """Pure. The answer is looked at as it came, a block's header too."""
    if not probe.numbers:
        return re.fullmatch(probe.pattern.encode(), answer.raw.strip(), re.DOTALL) is not None
    try:
        (element,) = parse_elements(answer.content)
    except (WireError, ValueError):
        return False
    return element.value in probe.numbers
