"""The temperature and humidity that were told in a session, and those that a value was taken at."""

from collections.abc import Iterator
from functools import reduce

from meterlog.accuracy import Environment, parse_environment
from meterlog.procedure import ActionKind
from meterlog.report.model import EnvironmentTold
from meterlog.report.session import Session


def environment_of(session: Session) -> Iterator[EnvironmentTold]:
    """Each time they were told, in order."""
    for at_ns, told in _told(session):
        temperature_c, humidity = told.temperature_c, told.humidity_percent
        yield EnvironmentTold(
            at=session.time(at_ns),
            temperature="" if temperature_c is None else f"{temperature_c:g} degC",
            humidity="" if humidity is None else f"{humidity:g} %",
            source=told.source or "as typed in",
        )


def summary_of(session: Session) -> str:
    """ "23 to 24.5 degC, 45 % RH": all that was told, "" if nothing was."""
    told = [one for _, one in _told(session)]
    warm = {one.temperature_c for one in told if one.temperature_c is not None}
    humid = {one.humidity_percent for one in told if one.humidity_percent is not None}
    return ", ".join(text for text in (_span(warm, "degC"), _span(humid, "% RH")) if text)


def _span(numbers: set[float], unit: str) -> str:
    if not numbers:
        return ""
    low, high = min(numbers), max(numbers)
    return f"{low:g} {unit}" if low == high else f"{low:g} to {high:g} {unit}"


def environment_at(session: Session, at_ns: int) -> Environment:
    """What had been told by then."""
    so_far = (told for then_ns, told in _told(session) if then_ns <= at_ns)
    return reduce(Environment.then, so_far, Environment())


def _told(session: Session) -> Iterator[tuple[int, Environment]]:
    for action in session.course.actions:
        if action.kind is ActionKind.ENVIRONMENT:
            yield action.at_ns, parse_environment(action.text)
