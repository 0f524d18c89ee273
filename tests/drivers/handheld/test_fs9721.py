"""The fs9721 meter on a wire that is played back: connecting, waiting, silence, nonsense."""

from typing import Any

import pytest

from meterlog.reading import Coupling, Garbled, Indication, Meter, Settings, State, Unanswered, WrongMeter
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.handheld.fs9721 import FORMAT, driver
from meterlog_drivers.talking import NONSENSE_BYTES
from tests.drivers.vectors import dialogue

GOOD = bytes.fromhex("17 20 35 4D 5B 61 7F 82 97 A0 B0 C0 D4 E0")  # 1.234 V DC
AC_MILLIVOLTS = bytes.fromhex("19 27 3D 41 55 61 75 83 9E A0 B8 C0 D4 E0")  # 775 mV AC


def connected(chunks: Chunks, settings: Settings | None = None) -> tuple[Meter, FakeWire]:
    clock = FakeClock()
    wire = FakeWire(clock)
    wire.send(chunks)
    return driver.connect(wire, settings or Settings(), clock), wire


def polled(meter: Meter, count: int, wait_s: float = 1.0) -> list[Indication]:
    return [shown for _ in range(count) for shown in meter.poll(wait_s)]


def test_the_first_frame_identifies_and_is_not_lost() -> None:
    meter, _ = connected([(1.0, GOOD), (0.4, AC_MILLIVOLTS)])
    assert meter.identity.text == "fs9721 frames"
    first, second = polled(meter, 2)
    assert (first.value, first.coupling) == (1.234, Coupling.DC)
    assert (second.value, second.coupling) == (0.775, Coupling.AC)
    assert second.monotonic_ns - first.monotonic_ns == 400_000_000


def test_dialogue_13_the_line_goes_dead() -> None:
    """dl-13: one frame, then nothing; the old value is not repeated."""
    steps: list[dict[str, Any]] = dialogue("dl-13")["steps"]
    frame = steps[0]["rx"][0]
    meter, wire = connected([(frame["ms"] / 1e3, bytes.fromhex(frame["data_hex"]))])
    assert [shown.value for shown in meter.poll(1.0)] == [1.234]
    before_ns = wire.clock.now_ns
    assert polled(meter, 3) == []
    assert wire.clock.now_ns - before_ns == 3_000_000_000, "poll waits as long as it is told, no longer"


def test_a_half_frame_then_silence_gives_nothing() -> None:
    meter, _ = connected([(0.1, GOOD), (0.4, GOOD[:9])])
    assert len(polled(meter, 5)) == 1


def test_a_frame_in_pieces_is_dated_by_its_first() -> None:
    meter, wire = connected([(0.1, GOOD), (0.4, GOOD[:8]), (0.03, GOOD[8:])])
    started_ns = wire.clock.now_ns
    assert polled(meter, 2)[1].monotonic_ns == started_ns + 400_000_000


def test_silence_and_nonsense_have_their_own_words() -> None:
    with pytest.raises(Unanswered, match="RS232 annunciator"):
        connected([])
    with pytest.raises(Garbled, match="wrong speed or format"):
        connected([(0.1, b"\x80" * 30)])


def test_nonsense_is_told_after_some_400_bytes_and_each_time_anew() -> None:
    noise = [(0.1, b"\x00" * 20)] * 60
    meter, _ = connected([(0.1, GOOD), *noise, (0.1, GOOD)])
    assert len(polled(meter, 1)) == 1
    for _ in range(2):
        with pytest.raises(Garbled, match=f"{NONSENSE_BYTES} bytes without a reading"):
            polled(meter, 40)


def test_after_nonsense_the_next_frame_is_read() -> None:
    meter, _ = connected([(0.1, GOOD), (0.1, b"\x00" * NONSENSE_BYTES), (0.1, GOOD)])
    polled(meter, 1)
    with pytest.raises(Garbled):
        polled(meter, 1)
    meter.resynchronise()
    assert [shown.value for shown in polled(meter, 1)] == [1.234]


def test_resynchronising_forgets_half_a_frame() -> None:
    meter, wire = connected([(0.1, GOOD), (0.1, GOOD[:6])])
    polled(meter, 2, wait_s=0.2)
    meter.resynchronise()
    wire.send([(0.1, GOOD[6:])])
    assert polled(meter, 2, wait_s=0.2) == []


def test_babble_does_not_hold_up_a_poll() -> None:
    meter, wire = connected([(0.1, GOOD), *[(0.1, b"\x00")] * 100])
    polled(meter, 1)
    before_ns = wire.clock.now_ns
    assert meter.poll(0.5) == []
    assert wire.clock.now_ns - before_ns <= 500_000_000


def test_the_period_is_learnt() -> None:
    meter, _ = connected([(0.6, GOOD)] * 10)
    assert meter.period_s == 0.4
    polled(meter, 10)
    assert meter.period_s == pytest.approx(0.6)


def test_overload_is_a_state() -> None:
    meter, _ = connected([(0.1, bytes.fromhex("13 20 30 47 5D 6E 78 80 90 A0 B2 C4 D0 E0"))])  # fs9721-22
    (shown,) = meter.poll(1.0)
    assert (shown.state, shown.value) == (State.OVERLOAD, None)


@pytest.mark.parametrize(
    ("settings", "text"),
    [
        (Settings(range_max=10.0), "knob"),
        (Settings(ac_filter_hz=20.0), "knob"),
        (Settings(function="loudness"), 'no function "loudness"'),
        (Settings(options={"speed": 3}), "no option speed"),
    ],
)
def test_what_the_meter_cannot_do_is_refused(settings: Settings, text: str) -> None:
    with pytest.raises(ValueError, match=text):
        connected([(0.1, GOOD)], settings)


def test_an_identity_that_no_such_meter_has_is_refused() -> None:
    connected([(0.1, GOOD)], Settings(options={"identity": "fs9721"}))
    with pytest.raises(WrongMeter, match="remove identity"):
        connected([(0.1, GOOD)], Settings(options={"identity": "blue meter"}))


def test_closing_leaves_the_wire_open() -> None:
    meter, wire = connected([(0.1, GOOD), (0.1, GOOD)])
    meter.close()
    meter.close()
    assert wire.read(1.0) == GOOD


def test_the_decoder_is_offered_by_the_format() -> None:
    assert FORMAT.decoder().feed(GOOD, at_ns=0)[0].value == 1.234
