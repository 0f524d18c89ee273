"""From what a TOML file holds to its typed tables, or to all that is wrong in it."""

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from meterlog.files.lines import Location
from meterlog.files.problems import FileError, Problem, problems_in


class Table(BaseModel):
    """A table of a file: nothing in it that is not expected."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


Tables = TypeVar("Tables", bound=BaseModel)


def tables_in(
    model: type[Tables],
    data: dict[str, Any],
    text: str,
    file: str,
    *,
    context: Any = None,
    misfits: Callable[[Tables], Iterable[tuple[Location, str]]] = lambda _: (),
    in_file: Callable[[Location], Location] = lambda place: place,
) -> Tables:
    """`data` is what `text` holds; `file` is the name that messages show. FileError with every problem.

    misfits  what only the tables together can tell, looked for once each is sound by itself
    in_file  takes out of a location what is pydantic's and not the file's
    """
    try:
        tables = model.model_validate(data, context=context)
    except ValidationError as error:
        raise FileError(problems_in(error, text, file, in_file=in_file)) from error
    if found := [Problem.at(place, what, text, file) for place, what in misfits(tables)]:
        raise FileError(sorted(found, key=lambda problem: problem.line))
    return tables
