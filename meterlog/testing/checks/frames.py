"""What a driver makes of the bytes."""

import random

from meterlog.testing.specimen import Specimen
from meterlog.testing.stage import Stage, assert_belongs, assert_shown, assert_true, connected, usual
from meterlog.testing.wire import Chunks

CUTTINGS = 20
PIECE_S = 0.001
MOST_PIECES = 100


def reads_every_row(specimen: Specimen) -> None:
    """Each row between two good ones: what it means comes, or nothing, and its neighbours are not lost."""
    first, last = specimen.readings[:2]
    for row in specimen.rows:
        # A meter that is asked may be asked again after what was no answer.
        again = 0 if specimen.talks or row.shown else 3
        stage = connected(specimen, [usual(specimen, one) for one in (first, row, *[last] * (1 + again))])
        found = stage.seen()
        assert_shown(found[: 2 + len(row.shown)], [first, row, last])
        stage.close()


def reads_the_same_however_cut(specimen: Specimen) -> None:
    """Byte by byte and in random pieces, each a moment after the other."""
    rows = specimen.readings
    chance = random.Random(1)  # the same cuts every time
    for number in range(CUTTINGS):
        script = [_in_pieces(specimen, row.data, chance, every=number == 0) for row in rows]
        assert_shown(connected(specimen, script).seen(), rows)


def dates_by_the_beginning(specimen: Specimen) -> None:
    """By when the question was sent, or the first byte came; never by when the last one did."""
    first, second, *_ = specimen.readings
    half = len(second.data) // 2
    pieces = [(specimen.period_s, second.data[:half]), (0.03, second.data[half:])]
    stage = Stage(specimen, [usual(specimen, first), pieces])
    began_ns = stage.clock.now_ns
    stage.connect()
    found = stage.seen()
    assert_shown(found, [first, second])
    if specimen.talks:
        late_s = (found[1].monotonic_ns - began_ns) / 1e9 - 2 * specimen.period_s
        assert late_s <= 0.0, f"the reading is dated {late_s:.3f} s after its first byte"
    else:
        assert_belongs(stage, found[1], "an answer in two pieces")


def bears_noise_between(specimen: Specimen) -> None:
    """Nothing untrue, and the third frame after it comes at the latest."""
    for noise in (specimen.foreign[:1], specimen.foreign * 3):
        _disturbed(specimen, 0, noise)


def bears_noise_inside(specimen: Specimen) -> None:
    """At every place of a frame."""
    shortest = min(len(row.data) for row in specimen.readings)
    for place in range(1, shortest):
        _disturbed(specimen, place, specimen.foreign[place % len(specimen.foreign) :][:1])


def begins_in_the_middle(specimen: Specimen) -> None:
    """Of a frame, at every place: its rest is no reading, and the frames after it all come."""
    if not specimen.talks:
        return
    first, *after = (specimen.readings * 3)[:6]
    for place in range(1, len(first.data)):
        script = [[(0.01, first.data[place:])], *(usual(specimen, row) for row in after)]
        assert_shown(connected(specimen, script).seen(), after)


def bears_any_bytes(specimen: Specimen) -> None:
    """Random bytes: errors of the wire at most, every call in time."""
    chance = random.Random(2)  # the same bytes every time
    good = specimen.readings[0]
    noise = [[(specimen.period_s, chance.randbytes(chance.randrange(1, 400)))] for _ in range(100)]
    connected(specimen, [usual(specimen, good), *noise]).seen()


def _disturbed(specimen: Specimen, place: int, noise: bytes) -> None:
    """The third of six frames has noise before the byte at `place`."""
    rows = (specimen.readings * 2)[:6]
    script = [usual(specimen, row) for row in rows]
    third, what = rows[2].data, f"noise before byte {place + 1} of a frame"
    script[2] = [(specimen.period_s, third[:place] + noise + third[place:])]
    found = connected(specimen, script).seen()
    assert_true(found, rows, what)
    last = rows[5].shown[0]
    assert found, f"{what}: nothing came"
    assert not last.misfit(found[-1]), f"{what}: the third frame after it did not come"


def _in_pieces(specimen: Specimen, data: bytes, chance: random.Random, *, every: bool) -> Chunks:
    places = range(1, len(data))
    cuts = sorted(chance.sample(places, min(len(places), MOST_PIECES if every else 4)))
    starts = [0, *cuts]
    pieces = [data[start:end] for start, end in zip(starts, [*cuts, len(data)], strict=True)]
    return [(specimen.period_s if n == 0 else PIECE_S, piece) for n, piece in enumerate(pieces)]
