"""Displays that a map describes, by the shipped map of the FS9721 display: the same frames and check."""

from dataclasses import replace

from meterlog_drivers.declared.described import find_file
from meterlog_drivers.declared.display_file import load_display
from meterlog_drivers.declared.segments import KIND, format_of
from tests.fuzz import handhelds
from tests.fuzz.subject import Feed, Subject


def subject() -> Subject:
    kind = format_of(load_display(find_file("fs9721-display", KIND)).tables, "fs9721-display")

    def new() -> Feed:
        return kind.decoder().feed

    return replace(handhelds.subject("fs9721"), name="segments: fs9721-display", new=new)
