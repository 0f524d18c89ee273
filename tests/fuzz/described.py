"""Frames that a file describes, by the shipped files of two known formats: the same frames and checks."""

from dataclasses import replace

from meterlog_drivers.declared import binary, segments
from meterlog_drivers.declared.described import find_file
from meterlog_drivers.declared.display_file import load_display
from meterlog_drivers.declared.frame_file import load_frames
from meterlog_drivers.handheld.format import Format
from tests.fuzz import handhelds
from tests.fuzz.subject import Feed, Subject


def display() -> Subject:
    found = load_display(find_file("fs9721-display", segments.KIND))
    return _as("fs9721", "segments: fs9721-display", segments.format_of(found.tables, "fs9721-display"))


def frames() -> Subject:
    found = load_frames(find_file("ab-cd-sum", binary.KIND))
    return _as("abcd-sum16", "binary: ab-cd-sum", binary.format_of(found.tables, "ab-cd-sum"))


def _as(known: str, name: str, kind: Format) -> Subject:
    def new() -> Feed:
        return kind.decoder().feed

    return replace(handhelds.subject(known), name=name, new=new)
