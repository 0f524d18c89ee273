"""Unplug the one you mean: looks at ports made up by hand."""

from collections.abc import Sequence

from meterlog.bench.find import NamedPort, Stage, Unplugging, look
from meterlog.bench.find.unplugging import STAYS_S
from tests.bench.find.kit import named

A, B, C = "/dev/ttyUSB0", "/dev/ttyUSB1", "/dev/ttyUSB2"


def after(*looks: tuple[float, Sequence[NamedPort]]) -> Unplugging:
    """The first look is where it begins."""
    at = Unplugging(tuple(looks[0][1]))
    for now_s, ports in looks[1:]:
        at = look(at, ports, now_s)
    return at


def test_nothing_happens_while_nothing_changes() -> None:
    assert after((0, named(A, B)), (1, named(A, B)), (2, named(A, B))).stage is Stage.WAITING


def test_the_one_that_went_is_known_at_once() -> None:
    at = after((0, named(A, B)), (1, named(A)))
    assert at.stage is Stage.GONE
    assert at.port is not None
    assert at.port.port.device == B


def test_it_comes_back_under_another_name_and_stays() -> None:
    at = after((0, named(A, B)), (1, named(A)), (3, named(A, C)))
    assert at.stage is Stage.BACK
    at = look(at, named(A, C), 3 + STAYS_S)
    assert at.stage is Stage.STAYED
    assert at.is_over
    assert at.port is not None
    assert at.port.port.device == C


def test_one_that_goes_again_at_once_was_taken() -> None:
    """As a service for Braille displays does, half a second after plugging in."""
    at = after((0, named(A, B)), (1, named(A)), (3, named(A, B)), (3.5, named(A)))
    assert at.stage is Stage.TAKEN
    assert at.is_over


def test_several_at_once_tell_nothing() -> None:
    at = after((0, named(A, B, C)), (1, named(C)))
    assert at.stage is Stage.SEVERAL
    assert at.port is None


def test_one_that_was_not_plugged_in_may_just_come() -> None:
    at = after((0, ()), (1, named(A)), (1 + STAYS_S, named(A)))
    assert at.stage is Stage.STAYED


def test_its_lasting_name_may_come_a_moment_later() -> None:
    from dataclasses import replace

    late = named(A)[0]
    at = after((0, ()), (1, [replace(late, address=A)]), (1 + STAYS_S, [late]))
    assert at.port == late


def test_when_it_is_over_nothing_changes_any_more() -> None:
    at = after((0, named(A, B, C)), (1, named(C)))
    assert look(at, named(A, B, C), 9.0) is at
