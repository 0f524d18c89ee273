"""What one kind of hand-held meter is, as the meter and the driver need to know it."""

from collections.abc import Callable
from dataclasses import dataclass

from meterlog.reading import Line
from meterlog_drivers.handheld.framing import Decoder

OPTICAL_LEAD = "the lead seated"
"""Opto-coupled leads are fed from DTR (high) and RTS (low): common practice, harmless to others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """One format of frames on one line.

    name       by which the meter can be known: it says no more about itself than "NAME frames"
    sends      the line as the meter has it, for people
    line       how the port is opened, which may differ: 7-bit formats are opened as 8N1
    decoder    gives one that has heard nothing yet
    functions  what a channel can ask for
    look_at    what to look at when nothing comes
    displays   how many of its displays it tells of
    period_s   usual seconds between readings; for a meter that is asked, between questions at least
    repeat_s   a meter that sends each block twice sends the second within this; 0 if it sends but once
    question   what is sent to get one reading; b"" if the meter talks by itself
    answer_s   how long an answer may take
    unknown    why a sound frame may have no number for us, said once when it happens
    """

    name: str
    sends: str
    line: Line
    decoder: Callable[[], Decoder]
    functions: frozenset[str]
    look_at: str
    displays: int = 1
    period_s: float = 0.4
    repeat_s: float = 0.0
    question: bytes = b""
    answer_s: float = 1.0
    unknown: str = ""
