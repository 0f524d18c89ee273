"""Probes by line, questions in order, and what fits. Everything is invented."""

import pytest

from meterlog.bench import BenchError
from meterlog.bench.find import recognising
from meterlog.bench.find.candidates import (
    by_line,
    candidates_of,
    for_far_lines,
    questions,
    recognised,
    silence_s,
)
from meterlog.bench.find.listening import line_s
from meterlog.reading import Identity, Line, Probe
from tests.bench.conftest import Offer
from tests.bench.find.kit import FAST, SLOW, Knowing, asked, talks


def raising(_: bytes) -> Identity | None:
    raise RuntimeError("a stranger")


CANDIDATES = candidates_of(
    {
        "one": Knowing([talks(b"one"), asked(b"D", b"dee", listen_s=0.5), asked(b"E\r", b"E-")]),
        "two": Knowing([asked(b"*IDN?\n", b"two", FAST), asked(b"*IDN?\n", b"too", SLOW, 0.9)]),
        "bad": Knowing([Probe(SLOW, b"", 9.0, raising)]),
    }
)


def test_each_line_comes_once_with_all_its_probes() -> None:
    lines = by_line(CANDIDATES)
    assert list(lines) == [SLOW, FAST]
    assert [one.driver for one in lines[SLOW]] == ["one", "one", "one", "two", "bad"]


def test_whole_lines_are_asked_before_bare_letters() -> None:
    """A letter sent before would become a part of the line."""
    assert list(questions(CANDIDATES)) == [b"*IDN?\n", b"E\r", b"D"]
    assert questions(CANDIDATES)[b"*IDN?\n"] == 0.9


def test_no_line_takes_longer_than_it_may() -> None:
    assert silence_s(CANDIDATES) == 9.0
    assert line_s(SLOW, by_line(CANDIDATES)[SLOW]) == pytest.approx(4.0 + 0.9 + 0.5 + 0.3)


def test_far_lines_get_whole_lines_only() -> None:
    far = for_far_lines(CANDIDATES, talks=False)
    assert {one.probe.question for one in far} == {b"*IDN?\n"}
    assert {one.probe.question for one in for_far_lines(CANDIDATES, talks=True)} == {b"", b"*IDN?\n"}


def test_an_answer_counts_only_if_it_was_asked_for() -> None:
    assert recognised(CANDIDATES, b"dee", [], SLOW) == []
    assert [one.identity.text for one in recognised(CANDIDATES, b"dee one", [b"D"], SLOW)] == ["one", "dee"]


def test_a_driver_whose_probes_fail_is_left_out() -> None:
    class Broken(Knowing):
        def probes(self) -> list[Probe]:
            raise RuntimeError("a stranger")

    assert candidates_of({"broken": Broken([])}) == []


def test_drivers_that_cannot_recognise_are_left_out_unless_named(plain_driver: None) -> None:
    found, _ = recognising()
    assert "plain" not in found
    assert "fs9721" in found
    with pytest.raises(BenchError, match=r"plain.* cannot recognise its meters"):
        recognising(["plain"])


def test_a_driver_that_cannot_be_loaded_is_told(offer: Offer) -> None:
    offer("meterlog_broken", "broken = meterlog_broken:driver", "import nothing_of_this_name\n")
    found, faults = recognising()
    assert "fs9721" in found
    assert any("nothing_of_this_name" in fault for fault in faults)
    with pytest.raises(BenchError, match="cannot be loaded"):
        recognising(["broken"])


def test_lines_compare_by_all_that_they_say() -> None:
    assert (
        len(by_line(candidates_of({"x": Knowing([talks(b"a", Line()), talks(b"b", Line(rts=False))])}))) == 2
    )
