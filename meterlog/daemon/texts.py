"""Texts that come in over the API and go into the record."""

from typing import Annotated

from pydantic import AfterValidator, Field


def _printable(text: str) -> str:
    """Control characters have no place in a report, nor have halves of characters in a database."""
    if not "".join(text.splitlines()).replace("\t", "").isprintable():
        raise ValueError("write text without control characters")
    return text


Line = Annotated[str, Field(max_length=200), AfterValidator(_printable)]
Words = Annotated[str, Field(max_length=4000), AfterValidator(_printable)]
