"""A short share of `python -m tests.fuzz` for each decoder, and that it would find what it looks for."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from meterlog.reading import Indication
from meterlog_drivers.handheld import es51922
from meterlog_drivers.handheld.framing import Window, fixed
from tests.drivers.ours import OURS
from tests.fuzz.handhelds import subject
from tests.fuzz.run import run
from tests.fuzz.subject import Feed, Subject
from tests.fuzz.subjects import SUBJECTS

SHARE_BYTES = 50_000
CHUNK_BYTES = 5_000


@pytest.mark.parametrize("name", SUBJECTS)
def test_any_bytes_give_no_reading_that_they_do_not_justify(name: str) -> None:
    tally = run(SUBJECTS[name](), SHARE_BYTES, chunk_bytes=CHUNK_BYTES)
    assert tally.sound, (tally, tally.faults)
    assert tally.readings > 100, "the damaged streams have sound frames in them"


@pytest.mark.parametrize("driver", OURS)
def test_every_driver_is_fuzzed(driver: str) -> None:
    names = {name.partition(":")[0] for name in SUBJECTS}
    assert driver in names, f"driver {driver!r} is not fuzzed: add its decoder to tests/fuzz/subjects.py"


def windowed() -> Feed:
    """The ES51922 read by a sliding window, which its format has no mark for."""
    chip = es51922.CHIP
    return Window(
        fixed(14, lambda frame: frame.endswith(b"\r\n") and set(frame[:-2]) <= set(range(0x30, 0x40))),
        chip.read,
    ).feed


def plain_es51922(new: Callable[[], Feed]) -> Subject:
    """Without parity, and damaged by doubled bytes alone."""
    plain = [bytes(byte & 0x7F for byte in frame) for frame in subject("es51922").frames]
    return replace(subject("es51922"), new=new, frames=plain, told=("double",))


def test_a_doubled_byte_in_a_format_without_a_mark_is_found_where_a_window_slides_over_it() -> None:
    tally = run(plain_es51922(windowed), SHARE_BYTES, chunk_bytes=CHUNK_BYTES)
    assert tally.unjustified > 100
    own = run(plain_es51922(subject("es51922").new), SHARE_BYTES, chunk_bytes=CHUNK_BYTES)
    assert (own.unjustified, own.crashes) == (0, 0), own.faults


def _with(change: Callable[[list[Indication]], list[Indication]]) -> Subject:
    good = subject("stx16")

    def new() -> Feed:
        feed = good.new()
        return lambda data, at_ns: change(feed(data, at_ns))

    return replace(good, new=new)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda found: found + found, "does not stand"),
        (lambda found: [replace(one, value=10.0, resolution=0.001) for one in found if one.value], "counts"),
        (lambda found: [replace(one, raw=b"\x02") for one in found], "STX"),
        (lambda found: [replace(one, monotonic_ns=0) for one in found], "does not stand"),
        (lambda found: found[::-1], "does not stand"),
    ],
    ids=["twice", "another value", "another frame", "another date", "another order"],
)
def test_what_is_not_justified_is_found(
    change: Callable[[list[Indication]], list[Indication]], said: str
) -> None:
    tally = run(_with(change), SHARE_BYTES, chunk_bytes=CHUNK_BYTES)
    assert tally.unjustified > 0
    assert any(said in fault for fault in tally.faults), tally.faults


def test_a_decoder_that_raises_is_found() -> None:
    def fail(found: list[Indication]) -> list[Indication]:
        raise KeyError("no such byte")

    tally = run(_with(fail), SHARE_BYTES, chunk_bytes=CHUNK_BYTES)
    assert tally.crashes == SHARE_BYTES // CHUNK_BYTES
    assert "KeyError" in tally.faults[0]
