"""Every driver's specimens at the far end of a real pseudo-terminal, through a link."""

import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

import pytest

from meterlog.bench import Link, SystemClock
from meterlog.bench.bench_model import Channel
from meterlog.testing import HURRIED, PATIENCE_S, Specimen, Terminal, Witness
from tests.bench.kit import entry
from tests.testing.test_conformance import TESTED, specimens

pytestmark = pytest.mark.wire

ELSEWHERE = {"audio"}
"""tests/wire/test_audio_device.py: through the sound system, which is no serial port."""
BETWEEN_S = 0.35
"""From frame to frame; closer ones of some meters may be one measurement sent twice."""
READINGS = 3


@contextmanager
def played(specimen: Specimen, terminal: Terminal) -> Iterator[None]:
    """The far end: frames one after the other, or answers."""
    done = threading.Event()
    player = threading.Thread(target=_talk if specimen.talks else _answer, args=(specimen, terminal, done))
    player.start()
    try:
        yield
    finally:
        done.set()
        player.join()


def _talk(specimen: Specimen, terminal: Terminal, done: threading.Event) -> None:
    number = 0
    while not done.wait(BETWEEN_S):
        with suppress(OSError):
            terminal.send(specimen.readings[number % len(specimen.readings)].data)
        number += 1


def _answer(specimen: Specimen, terminal: Terminal, done: threading.Event) -> None:
    answers, number = specimen.answers(), 0
    while not done.is_set():
        for question in _questions(terminal.heard(0.1), specimen):
            if question == specimen.question:
                terminal.send(specimen.readings[number % len(specimen.readings)].data)
                number += 1
            elif answer := answers(question):
                terminal.send(answer)


def _questions(heard: bytes, specimen: Specimen) -> list[bytes]:
    """Text may come in one piece with the command before it."""
    end = re.search(rb"[\r\n]+$", specimen.question)
    return re.findall(rb"[^\r\n]+[\r\n]*", heard) if end else [heard] * bool(heard)


def linked(specimen: Specimen, path: str, witness: Witness) -> Link:
    settings = specimen.settings
    channel = Channel.model_construct(
        name="channel",
        meter="meter",
        function=settings.function,
        coupling=settings.coupling,
        range=None,
        ac_filter=None,
        display=1,
    )
    own = entry(path, specimen.driver.name, dialect=settings.dialect, options=dict(settings.options))
    return Link(
        own,
        [channel],
        specimen.driver,
        SystemClock(),
        deliver=witness.deliver,
        on_state=witness.on_state,
        pace=HURRIED,
    )


@pytest.mark.parametrize("name", sorted(set(TESTED) - ELSEWHERE))
def test_every_specimen_is_read_on_a_real_port(name: str) -> None:
    for specimen in specimens(name):
        witness = Witness()
        with Terminal() as terminal, played(specimen, terminal):
            link = linked(specimen, terminal.path, witness)
            link.start()
            witness.wait_for_readings(READINGS)
            assert link.stop(PATIENCE_S)
        # What is of another function than the channel is no value of it, and is not compared.
        read = [one.value for one in witness.readings if one.value is not None]
        sent = [row.shown[0] for row in specimen.readings]
        for value in read:
            assert any(value == pytest.approx(one.value, rel=max(one.within, 1e-12)) for one in sent)
