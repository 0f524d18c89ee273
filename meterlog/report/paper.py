"""Sizes of paper, ISO 216 and ANSI."""

from enum import StrEnum


class Paper(StrEnum):
    A4 = "a4"
    LETTER = "letter"
