"""What a driver does while the line says nothing, nonsense or too much, or is gone."""

from meterlog.reading import Indication, WireError, WireLost
from meterlog.testing.specimen import Specimen
from meterlog.testing.stage import Stage, assert_true, connected, usual
from meterlog.testing.wire import Chunks

POLLS = 6
READINGS = 20


def takes_silence_for_no_reading(specimen: Specimen) -> None:
    """The last value is not repeated, and every call ends in time."""
    _after_readings(specimen, [], "silence")


def ends_in_time_under_babble(specimen: Specimen) -> None:
    """A foreign byte each tenth of a second, without an end."""
    _after_readings(specimen, [(0.1, specimen.foreign[:1])] * 2000, "babble")


def ends_in_time_under_a_flood(specimen: Specimen) -> None:
    """64 KiB in a twentieth of a second."""
    _after_readings(specimen, [(0.01, specimen.foreign[:1] * (1 << 14))] * 4, "a flood")


def is_not_connected_in_silence(specimen: Specimen) -> None:
    """A port that opens is no meter: some dead addresses open."""
    _refuses_to_connect(Stage(specimen, [], lambda question: b""), "nobody answered")


def is_not_connected_to_anything(specimen: Specimen) -> None:
    """Text that is sent by some other thing on the line."""
    stage = Stage(specimen, [], lambda question: b"")
    stage.wire.send([(0.2, b"login: \r\nAT\r\nATZ\r\n")] * 100)
    _refuses_to_connect(stage, "some other thing talked")


def says_that_the_wire_is_lost(specimen: Specimen) -> None:
    """Unplugged at every call of the wire in turn, from the first of connecting to the third reading."""
    for call in range(1, _calls_of_three_readings(specimen) + 1):
        stage = _many_readings(specimen)
        stage.wire.fails_at = call
        assert _is_lost(stage), f"unplugged at call {call} of the wire; nothing raised WireLost"
        stage.close()


def _is_lost(stage: Stage) -> bool:
    try:
        stage.connect()
        for _ in range(READINGS):
            stage.poll()
    except WireLost:
        return True
    except WireError as error:
        raise AssertionError(f"{type(error).__name__} hides that the wire is lost: {error}") from error
    return False


def _many_readings(specimen: Specimen) -> Stage:
    return Stage(specimen, [usual(specimen, specimen.readings[0])] * READINGS)


def _calls_of_three_readings(specimen: Specimen) -> int:
    stage = _many_readings(specimen)
    stage.connect()
    for _ in range(3):
        stage.poll()
    return stage.wire.calls


def _refuses_to_connect(stage: Stage, what: str) -> None:
    try:
        stage.connect()
    except WireError:
        stage.close()
        return
    raise AssertionError(f"{what}, and connect took it for a meter; raise Unanswered or Garbled")


def _after_readings(specimen: Specimen, trouble: Chunks, what: str) -> None:
    """Two readings, then the trouble: polled, resynchronised, closed and connected anew, all in time."""
    good = specimen.readings[:2]
    stage = connected(specimen, [*(usual(specimen, row) for row in good), trouble])
    found: list[Indication] = []
    for _ in range(len(good) + POLLS):
        found += _polled(stage)
    assert_true(found, good, what)
    assert len(found) == len(good), f"{what}: {len(found)} indications of {len(good)} frames"
    stage.close()


def _polled(stage: Stage) -> list[Indication]:
    try:
        return stage.poll()
    except WireLost:
        raise
    except WireError:
        _try_again(stage)
        return []


def _try_again(stage: Stage) -> None:
    """As a link does it."""
    try:
        stage.resynchronise()
    except WireLost:
        raise
    except WireError:
        stage.close()
