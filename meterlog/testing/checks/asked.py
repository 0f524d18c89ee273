"""Meters that are asked: an answer belongs to its question or to none."""

from meterlog.reading import Garbled, Indication, Unanswered
from meterlog.testing.specimen import Row, Specimen
from meterlog.testing.stage import Stage, connected, usual
from meterlog.testing.wire import Chunks

LATE_S = (0.02, 0.3, 1.0, 3.0)


def never_takes_a_late_answer(specimen: Specimen) -> None:
    """The second answer comes after its deadline: it is lost, and no other takes the place of the next."""
    if specimen.talks:
        return
    deadline_s = _deadline_s(specimen)
    for late_s in LATE_S:
        _second_goes_wrong(specimen, [(deadline_s + late_s, specimen.readings[1].data)], f"{late_s:g} s late")


def never_takes_a_cut_answer(specimen: Specimen) -> None:
    """Cut at every place, the rest after the deadline: neither half is a reading."""
    if specimen.talks:
        return
    deadline_s, data = _deadline_s(specimen), specimen.readings[1].data
    for place in range(1, len(data)):
        rest_s = deadline_s + 0.2
        _second_goes_wrong(specimen, [(0.1, data[:place]), (rest_s, data[place:])], f"cut at byte {place}")


def _deadline_s(specimen: Specimen) -> float:
    """How long the driver waits for an answer that does not come."""
    stage = connected(specimen, [usual(specimen, specimen.readings[0])])
    while not stage.is_over:
        stage.poll()
    before_ns = stage.clock.now_ns
    try:
        stage.poll()
    except (Unanswered, Garbled):
        return (stage.clock.now_ns - before_ns) / 1e9
    raise AssertionError("no answer came, and poll did not raise Unanswered: no link would resynchronise")


def _second_goes_wrong(specimen: Specimen, answer: Chunks, what: str) -> None:
    rows = [specimen.readings[number % len(specimen.readings)] for number in range(6)]
    script = [usual(specimen, row) for row in rows]
    script[1] = answer
    stage = connected(specimen, script)
    found = stage.seen()
    for indication in found:
        _assert_belongs(stage, rows, indication, what)
    # Its last row may have been the answer to a question that the driver gave up.
    assert len(found) >= 3, f"{what}: only {len(found)} of six answers became readings"


def _assert_belongs(stage: Stage, rows: list[Row], indication: Indication, what: str) -> None:
    at_ns = indication.monotonic_ns
    asked = next((number for number, sent_ns in enumerate(stage.asked_ns) if at_ns <= sent_ns), None)
    assert asked is not None, f"{what}: {indication} is dated after the last question was sent"
    assert asked < len(rows), f"{what}: {indication} answers question {asked + 1}, which nobody answered"
    misfit = rows[asked].shown[0].misfit(indication)
    assert not misfit, f"{what}: {indication} is dated as an answer to question {asked + 1}: {misfit}"
