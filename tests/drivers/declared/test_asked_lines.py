"""Meters that are asked: setting up, late and cut answers, errors. The meters are invented."""

import itertools
from pathlib import Path

import pytest

from meterlog.bench.wires.held_off import HeldOffWire
from meterlog.reading import (
    Coupling,
    Garbled,
    Meter,
    Refused,
    Remarks,
    Unanswered,
    Wanted,
    WrongMeter,
)
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.declared.ascii import driver
from tests.drivers.declared.kit import connected, kept, settings

HEAD = '[dialect]\nname = "invented"\nsource = "invented"\n'
ASK = '[ask]\nreading = "VAL?"\nend = "LF"\npatience = "1 s"\n'
PLAIN = (
    '[[answer]]\nline = "{number:SDD.DDD}"\nmeans = "as selected"\n[select]\n"voltage dc" = ["F1", "R0"]\n'
)
IDENTIFY = '[identify]\nask = "ID?"\nanswer = "INV-1"\n'
SLOW = PLAIN + '"voltage ac" = [{ send = "F2", pause = "2 s" }]\n'


class Far:
    """Each command has its answers, one after the other; the last goes on."""

    def __init__(self, **answers: list[Chunks]) -> None:
        self.answers = {f"{name}?".encode(): list(said) for name, said in answers.items()}
        self.heard: list[bytes] = []

    def __call__(self, line: bytes) -> Chunks:
        command = line.strip()
        self.heard.append(command)
        said = self.answers.get(command, [()])
        return said.pop(0) if len(said) > 1 else said[0]


def one(value: str, after_s: float = 0.3) -> Chunks:
    return [(after_s, f"{value}\r\n".encode())]


def meter_of(folder: Path, text: str, far: Far, coupling: Coupling = Coupling.DC) -> tuple[Meter, FakeWire]:
    """Where it cannot say who it is, it is known by a reading, which is forgotten."""
    proof = [] if IDENTIFY in text else [one("+10.000")]
    far.answers[b"VAL?"] = [*proof, *far.answers.get(b"VAL?", [])]
    return connected(settings(kept(folder, HEAD + text), coupling=coupling), far)


def test_what_starts_and_selects_is_sent_and_a_missing_unit_is_the_selected_one(tmp_path: Path) -> None:
    far = Far(VAL=[one("+12.345")])
    meter, wire = meter_of(tmp_path, ASK + 'start = ["RESET"]\nstop = ["LOC"]\n' + PLAIN, far)
    (shown,) = meter.poll(1.0)
    assert (shown.value, shown.unit, shown.function, shown.coupling) == (12.345, "V", "voltage", "dc")
    meter.close()
    assert far.heard == [b"RESET", b"F1", b"R0", b"VAL?", b"VAL?", b"LOC"]
    assert wire.written[0] == b"RESET\n"


def test_a_reading_is_dated_by_its_question(tmp_path: Path) -> None:
    meter, wire = meter_of(tmp_path, ASK + PLAIN, Far(VAL=[one("+12.345", 0.3)]))
    asked_ns = wire.clock.now_ns
    (shown,) = meter.poll(1.0)
    assert (shown.monotonic_ns, wire.clock.now_ns) == (asked_ns, asked_ns + 300_000_000)


def test_a_pause_after_a_command_is_kept(tmp_path: Path) -> None:
    far = Far(VAL=[one("+12.345")])
    _, wire = connected(settings(kept(tmp_path, HEAD + ASK + SLOW), coupling=Coupling.AC), far)
    slow_ns = wire.clock.now_ns
    _, wire = connected(settings(kept(tmp_path, HEAD + ASK + SLOW)), far)
    assert slow_ns - wire.clock.now_ns == 2_000_000_000


@pytest.mark.parametrize("identify", ["", IDENTIFY])
@pytest.mark.parametrize("after_s", [1.001, 1.4, 1.9, 2.05])
def test_a_late_answer_is_never_taken_for_the_next(identify: str, after_s: float, tmp_path: Path) -> None:
    far = Far(VAL=[one("+11.111", after_s), one("+22.222")], ID=[one("INV-1 v2", 0.05)])
    meter, _ = meter_of(tmp_path, ASK + identify + PLAIN, far)
    with pytest.raises(Unanswered, match="nothing came"):
        meter.poll(1.0)
    with pytest.raises(Garbled, match="in step"):
        meter.poll(1.0)
    meter.resynchronise()
    assert [shown.value for shown in meter.poll(1.0)] == [22.222]


@pytest.mark.parametrize("cut", range(1, 8))
def test_a_cut_answer_is_no_number_and_neither_is_its_rest(cut: int, tmp_path: Path) -> None:
    """Time-out inside -12.345: neither -12. nor 345 may come out."""
    whole = b"-12.345\r\n"
    far = Far(VAL=[[(0.2, whole[:cut]), (1.2, whole[cut:])], one("+22.222")])
    meter, _ = meter_of(tmp_path, ASK + PLAIN, far)
    with pytest.raises(Unanswered, match="only"):
        meter.poll(1.0)
    meter.resynchronise()
    assert [shown.value for shown in meter.poll(1.0)] == [22.222]


def test_two_answers_to_one_question_are_none(tmp_path: Path) -> None:
    far = Far(VAL=[[(0.1, b"+11.111\r\n+22.222\r\n")], one("+33.333")])
    meter, _ = meter_of(tmp_path, ASK + PLAIN, far)
    with pytest.raises(Garbled, match="not asked for"):
        meter.poll(1.0)
    meter.resynchronise()
    assert [shown.value for shown in meter.poll(1.0)] == [33.333]


def test_a_meter_that_talks_though_nobody_asks(tmp_path: Path) -> None:
    text = kept(tmp_path, HEAD + ASK + PLAIN)
    with pytest.raises(Garbled, match=r"talk by itself\? Then its file has no \[ask\]"):
        connected(settings(text), chunks=[(0.1, b"+1.000\r\n")] * 100)


def test_who_answers_is_found_out_and_anyone_else_refused(tmp_path: Path) -> None:
    far = Far(VAL=[one("+12.345")], ID=[one("INV-1 v2", 0.05)])
    meter, _ = meter_of(tmp_path, ASK + IDENTIFY + PLAIN, far)
    assert b"VAL?" not in far.heard, "who can say who it is need not prove it by a reading"
    assert meter.identity.text.startswith("invented (dialect ")
    assert meter.identity.text.endswith(": INV-1 v2")
    far.answers[b"ID?"] = [one("INV-1 v3", 0.05)]
    with pytest.raises(WrongMeter, match="INV-1 v3"):
        meter.resynchronise()
    with pytest.raises(WrongMeter, match='wants "INV-1"'):
        meter_of(tmp_path, ASK + IDENTIFY + PLAIN, Far(ID=[one("OTHER", 0.05)]))


PROMPTS = '[ask.prompts]\n"=>" = "ready"\n"?>" = "not understood"\n'


def test_a_refused_start_is_told(tmp_path: Path) -> None:
    def far(line: bytes) -> Chunks:
        return [(0.01, b"?>\r\n" if line == b"R0\n" else b"=>\r\n")]

    with pytest.raises(Refused, match="R0 is not understood"):
        connected(settings(kept(tmp_path, HEAD + ASK + PROMPTS + PLAIN)), far)


def test_a_prompt_without_an_end_is_seen(tmp_path: Path) -> None:
    def far(line: bytes) -> Chunks:
        return [(0.01, b"+12.345\r\n" if line == b"VAL?\n" else b""), (0.01, b"=> ")]

    meter, _ = connected(settings(kept(tmp_path, HEAD + ASK + PROMPTS + PLAIN)), far)
    assert [shown.value for _ in range(2) for shown in meter.poll(1.0)] == [12.345] * 2


def test_a_refused_question_is_a_remark(tmp_path: Path) -> None:
    answers = iter([b"+12.345\r\n=>\r\n", b"?>\r\n"])

    def far(line: bytes) -> Chunks:
        return [(0.01, next(answers) if line == b"VAL?\n" else b"=>\r\n")]

    meter, _ = connected(settings(kept(tmp_path, HEAD + ASK + PROMPTS + PLAIN)), far)
    with pytest.raises(Garbled, match="not understood"):
        meter.poll(1.0)
    assert isinstance(meter, Remarks)
    assert meter.remarks() == ["the meter says: VAL? is not understood"]
    assert meter.remarks() == []


def test_the_number_of_an_error_is_a_remark_and_no_reading() -> None:
    """Row ld-09: +1.0032E+21 is error 32 (published in the manual of a meter of 1984)."""
    answers = iter([b"+1.23456E+0, VDC\r\n", b"+1.0032E+21\r\n"])
    meter, _ = connected(
        settings("number-mark-unit"), lambda line: [(0.1, next(answers))] if line == b"T3\r\n" else ()
    )
    with pytest.raises(Garbled, match="error 32"):
        meter.poll(1.0)
    assert isinstance(meter, Remarks)
    assert meter.remarks() == ["the meter reports error 32"]


def test_numbers_beyond_what_a_meter_can_show_are_none(tmp_path: Path) -> None:
    far = Far(VAL=[one("+9.0E+25"), one("+1.0"), one("+9.9E+37"), one("+9.91E+37")])
    text = ASK + PLAIN.replace(":SDD.DDD", "")
    meter, _ = meter_of(tmp_path, text, far)
    with pytest.raises(Garbled, match="beyond"):
        meter.poll(1.0)
    meter.resynchronise()
    assert [shown.state for _ in range(2) for shown in meter.poll(1.0)] == ["overload", "invalid"]


def test_a_second_display_is_selected_and_read(tmp_path: Path) -> None:
    text = (
        HEAD
        + ASK
        + '[[answer]]\nline = "{number},{number2}"\nmeans = "as selected"\nmeans2 = "as selected"\n'
        '[select]\n"voltage ac" = "VAC"\n[select2]\n"frequency" = "FREQ2"\n'
    )
    far = Far(VAL=[one("+1.5,+1.0000E+3")])
    wanted = settings(kept(tmp_path, text), coupling=Coupling.AC, second=Wanted("frequency"))
    meter, _ = connected(wanted, far)
    assert [(s.display, s.value, s.unit, s.function) for s in meter.poll(1.0)] == [
        (1, 1.5, "V", "voltage"),
        (2, 1000.0, "Hz", "frequency"),
    ]
    assert far.heard[:2] == [b"VAC", b"FREQ2"]


def test_a_second_display_that_nothing_selects_is_read_alone() -> None:
    """The line of vector ld-12: both displays come as the panel has set them."""
    alone = settings("number-unit", "frequency", Coupling.NONE, displays=(2,))
    meter, _ = connected(alone, Far(VAL=[one("+1.2345E+0 VAC,+1.0000E+3 HZ")]))
    assert {shown.display: shown.value for shown in meter.poll(1.0)}[2] == 1000.0


def test_a_clear_is_sent_before_anything_and_after_a_failure(tmp_path: Path) -> None:
    far = Far(VAL=[(), one("+12.345")])
    meter, wire = meter_of(tmp_path, ASK + 'clear = "\\u0003"\n' + PLAIN, far)
    assert wire.written[0] == b"\x03"
    with pytest.raises(Unanswered):
        meter.poll(1.0)
    meter.resynchronise()
    assert wire.written[-1] == b"\x03"


def test_an_answer_that_pauses_where_a_silence_ends_it_is_no_reading(tmp_path: Path) -> None:
    """Neither its half, nor the other half with the beginning of the next."""
    text = ASK + '[receive]\nend = "none"\nidle = "50 ms"\n' + PLAIN
    far = Far(VAL=[[(0.1, b"+10.000")], [(0.1, b"+12.3"), (0.08, b"45")], [(0.1, b"+67.890")]])
    meter, _ = connected(settings(kept(tmp_path, HEAD + text)), far)
    with pytest.raises(Garbled, match="fits no line"):
        meter.poll(1.0)
    meter.resynchronise()
    assert [shown.value for shown in meter.poll(1.0)] == [67.89]


def test_a_question_that_had_to_wait_is_dated_by_when_it_was_sent(tmp_path: Path) -> None:
    """XOFF with each answer, XON 0.4 s later (ISO/IEC 646 DC3, DC1); an answer takes 0.1 s."""
    text = HEAD.replace("[dialect]\n", '[dialect]\nperiod = "100 ms"\n') + ASK + PLAIN
    wire = FakeWire(FakeClock(), Far(VAL=[[(0.1, b"\x13+12.345\r\n"), (0.4, b"\x11")]]))
    meter = driver.connect(HeldOffWire(wire, wire.clock), settings(kept(tmp_path, text)), wire.clock)
    dates_ns = []
    while len(dates_ns) < 4:
        for shown in meter.poll(1.0):
            dates_ns.append(shown.monotonic_ns)
            assert wire.clock.now_ns - shown.monotonic_ns == 100_000_000
    assert {later - earlier for earlier, later in itertools.pairwise(dates_ns)} == {500_000_000}


def test_a_meter_is_asked_no_sooner_than_it_measures(tmp_path: Path) -> None:
    """Asked sooner it says the same conversion again, and a held value would pass for many that agree."""
    slow = HEAD.replace("[dialect]\n", '[dialect]\nperiod = "2 s"\n')
    far = Far(VAL=[one("+10.000"), one("+12.345", 0.05)])
    meter, wire = connected(settings(kept(tmp_path, slow + ASK + PLAIN)), far)
    began_ns, asked = wire.clock.now_ns, far.heard.count(b"VAL?")
    dates = []
    while wire.clock.now_ns < began_ns + 9_000_000_000:
        dates += [shown.monotonic_ns for shown in meter.poll(0.25)]
    assert far.heard.count(b"VAL?") - asked == len(dates) == 5
    assert {later - earlier for earlier, later in itertools.pairwise(dates)} == {2_000_000_000}
