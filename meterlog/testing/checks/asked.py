"""Meters that are asked: an answer belongs to its question or to none."""

from itertools import pairwise

from meterlog.reading import Garbled, Unanswered
from meterlog.testing.specimen import Specimen
from meterlog.testing.stage import ANSWER_S, assert_belongs, connected, usual
from meterlog.testing.wire import Chunks

POLLS = 6
LEAST_SHARE = 0.8
LATE_S = (0.02, 0.3, 1.0, 3.0)
MOST_POLLS = 20


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


def asks_no_faster_than_it_measures(specimen: Specimen) -> None:
    """Answered at once, it is asked in the rhythm that the driver states: else one number comes often."""
    if specimen.talks or specimen.triggered:
        return
    at_once = [[(ANSWER_S, row.data)] for row in (specimen.readings * POLLS)[:POLLS]]
    stage = connected(specimen, at_once)
    assert stage.meter is not None
    stated_s = stage.meter.period_s
    for _ in range(MOST_POLLS):
        stage.poll()
        if stage.is_over:
            break
    gaps_s = [(later - earlier) / 1e9 for (earlier, _), (later, _) in pairwise(stage.asked[-POLLS:])]
    assert min(gaps_s) >= LEAST_SHARE * stated_s, (
        f"asked again after {min(gaps_s):g} s, though a reading takes {stated_s:g} s by period_s: the same "
        "number comes again and passes for another one. Wait; or say `triggered`, if a question begins a "
        "measurement"
    )


def _deadline_s(specimen: Specimen) -> float:
    """How long the driver waits for an answer that does not come."""
    stage = connected(specimen, [usual(specimen, specimen.readings[0]), ()])
    try:
        for _ in range(MOST_POLLS):
            stage.poll()
    except (Unanswered, Garbled):
        return (stage.clock.now_ns - stage.asked[-1][0]) / 1e9
    raise AssertionError("no answer came, and poll did not raise Unanswered: no link would resynchronise")


def _second_goes_wrong(specimen: Specimen, answer: Chunks, what: str) -> None:
    script = [usual(specimen, row) for row in (specimen.readings * 2)[:6]]
    script[1] = answer
    stage = connected(specimen, script)
    found = stage.seen()
    for indication in found:
        assert_belongs(stage, indication, what)
    # The driver may have given up one more question on the way back.
    assert len(found) >= 3, f"{what}: only {len(found)} of six answers became readings"
