"""Which dialect is spoken: the bench file's word, else a question that changes nothing, else plain."""

import logging

import pytest

from meterlog.reading import Coupling, Meter, Settings, Wanted
from meterlog.testing import FakeClock, FakeWire
from meterlog_drivers.scpi.driver import driver
from tests.drivers.fake_meter import FakeMeter

FILTERED = Settings(coupling=Coupling.AC, ac_filter_hz=20.0)


def connected(fake: FakeMeter, settings: Settings) -> tuple[Meter, float]:
    clock = FakeClock()
    began_ns = clock.now_ns
    meter = driver.connect(FakeWire(clock, fake), settings, clock)
    return meter, (clock.now_ns - began_ns) / 1e9


def speaking(answers: dict[str, str], *known: str) -> FakeMeter:
    fake = FakeMeter()
    fake.answers = answers
    fake.known = ("CONF:", "*CLS", *known)
    return fake


BAND = {"VOLT:AC:BAND?": "+2.00000000E+01"}
DETECTOR = {"VOLT:AC:DET:BAND?": "3.000000E+01"}


@pytest.mark.parametrize(
    ("dialect", "answers", "command"),
    [
        ("band", BAND, "VOLT:AC:BAND 20"),
        ("band", BAND | {"R? 1": "#10", "DATA:POIN?": "+0"}, "VOLT:AC:BAND 20"),
        ("detector-band", DETECTOR, "VOLT:AC:DET:BAND 3"),
        ("elements", DETECTOR | {"FORM:ELEM?": "READ,UNIT"}, "VOLT:AC:DET:BAND 3"),
        ("plugin-band", {"DET:BAND?": "+2.000000E+01"}, "DET:BAND 20"),
    ],
)
def test_a_question_settles_the_dialect(
    dialect: str, answers: dict[str, str], command: str, caplog: pytest.LogCaptureFixture
) -> None:
    """Commands and steps: manuals of four meter families."""
    fake = speaking(answers, command, "FORM:ELEM ")
    with caplog.at_level(logging.INFO):
        connected(fake, FILTERED)
    assert f'"ACME,M1,123,1.0" speaks the dialect "{dialect}"' in caplog.messages
    assert [heard for heard in fake.heard if "BAND " in heard] == [command]
    assert fake.errors == []


@pytest.mark.parametrize(
    ("dialect", "answers"),
    [
        ("memory-band", {"R? 1": "#10"}),
        ("memory-band", {"R? 1": "#215+1.00000000E+00", "DATA:POIN?": "+1"}),
        ("remove-band", {"DATA:POIN?": "+0"}),
    ],
)
def test_a_memory_is_looked_for_where_it_is_wanted(
    dialect: str, answers: dict[str, str], caplog: pytest.LogCaptureFixture
) -> None:
    fake = speaking(answers, "ABOR", "TRIG:", ":TRIG:", ":INIT")
    with caplog.at_level(logging.INFO):
        connected(fake, Settings(options={"buffered": True}))
    assert f'"ACME,M1,123,1.0" speaks the dialect "{dialect}"' in caplog.messages


def test_another_answer_proves_nothing(caplog: pytest.LogCaptureFixture) -> None:
    """A meter that answers 1 to everything; the AC filter is tried by its commands then."""
    one = dict.fromkeys(("VOLT:AC:BAND?", "R? 1", "FORM:ELEM?", "VOLT:AC:DET:BAND?", "DET:BAND?"), "1")
    with caplog.at_level(logging.INFO):
        connected(speaking(one, "VOLT:AC:DET:BAND "), FILTERED)
    assert "proves no dialect" in caplog.text


def test_nothing_is_asked_that_makes_no_difference() -> None:
    fake = FakeMeter()
    connected(fake, Settings(coupling=Coupling.AC))
    panel = {"FUNC?", "VOLT:AC:RANG:AUTO?", "CALC:STAT?", "FUNC?;:VOLT:AC:RANG:AUTO?;:CALC:STAT?"}
    asked = {command for command in fake.heard if command.endswith("?")}
    assert asked == {"*IDN?", "*OPC?", "SYST:ERR?", *panel}


def test_a_dialect_that_is_named_is_not_looked_for() -> None:
    fake = speaking({}, "DET:BAND ")
    connected(fake, Settings(coupling=Coupling.AC, ac_filter_hz=20.0, dialect="plugin-band"))
    assert not [command for command in fake.heard if command.endswith("BAND?")]


def test_a_meter_that_knows_none_of_the_questions_costs_a_few_seconds() -> None:
    fake = speaking({}, "DET:BAND ")
    _, took_s = connected(fake, FILTERED)
    assert took_s < 8.0
    assert fake.errors == []


class WordMeter:
    """Two displays, words, no error queue: after a manual; the words from memory."""

    def __init__(self) -> None:
        self.heard: list[str] = []
        self.events = 0
        self.readings = iter(["+7.7460E-1 VAC,+1.0002E+3 HZ", "+1E+9 VAC,+1.0002E+3 HZ", "+7.7460E-1 VAC"])

    def __call__(self, line: bytes) -> list[tuple[float, bytes]]:
        command = line.decode("ascii").strip()
        self.heard.append(command)
        answer = self._answer(command)
        return [(0.1, answer.encode("ascii") + b"\r\n")] if answer is not None else []

    def _answer(self, command: str) -> str | None:
        if command == "*ESR?":
            events, self.events = self.events, 0
            return str(events)
        if command == "MEAS?":
            return next(self.readings)
        known = {"*IDN?": "ACME, 45, 1234567, 1.0 D1.0", "*OPC?": "1", "FORMAT?": "1"}
        if command not in known and command not in ("VAC", "VDC", "FREQ2", "FORMAT 2", "*CLS"):
            self.events |= 32
        return known.get(command)


@pytest.mark.parametrize("dialect", ["", "two-display"])
def test_two_displays_are_read_at_one_instant(dialect: str) -> None:
    """Number, blank, unit; two values separated by a comma: a two-display bench meter's manual."""
    clock, words = FakeClock(), WordMeter()
    settings = Settings(coupling=Coupling.AC, second=Wanted("frequency"), dialect=dialect)
    meter = driver.connect(FakeWire(clock, words), settings, clock)
    level, tone = meter.poll(1.0)
    assert (level.value, str(level.unit), level.coupling, level.display) == (0.7746, "V", Coupling.AC, 1)
    assert (tone.value, str(tone.unit), tone.function, tone.display) == (1000.2, "Hz", "frequency", 2)
    assert level.monotonic_ns == tone.monotonic_ns
    over, tone = meter.poll(1.0)
    assert (over.state.value, tone.value) == ("overload", 1000.2)
    assert [word for word in words.heard if word in ("VAC", "FREQ2", "FORMAT 2")] == [
        "VAC",
        "FREQ2",
        "FORMAT 2",
    ]


def test_a_meter_without_a_queue_says_by_its_register_what_it_refused() -> None:
    clock, words = FakeClock(), WordMeter()
    settings = Settings(function="resistance", dialect="two-display")
    with pytest.raises(ValueError, match="refused OHMS: -100 Command error"):
        driver.connect(FakeWire(clock, words), settings, clock)


def test_a_second_display_is_refused_where_the_dialect_has_none() -> None:
    with pytest.raises(ValueError, match="knows no second display"):
        driver.check(Settings(coupling=Coupling.AC, second=Wanted("frequency"), dialect="band"))


SECOND_ASKED = """
like = "band"
summary = "a second display that is asked for by itself"
second = { question = "DATA2?" }
[function.frequency]
configure = "CONF:FREQ"
second = 'VOLT:AC:SEC "FREQ"'
"""


def test_a_second_display_may_have_a_question_of_its_own(tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp("dialect") / "second.toml"
    path.write_text(SECOND_ASKED)
    fake = speaking({"DATA2?": "+1.00020000E+03"}, "VOLT:AC:SEC")
    meter, _ = connected(fake, Settings(coupling=Coupling.AC, second=Wanted("frequency"), dialect=str(path)))
    assert [(shown.display, shown.value) for shown in meter.poll(1.0)] == [(1, 1.0), (2, 1000.2)]


def test_a_dialect_for_other_instruments_is_used_if_it_is_named(
    tmp_path_factory: pytest.TempPathFactory, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path_factory.mktemp("dialect") / "theirs.toml"
    path.write_text('like = "band"\nidentity = ["OTHER"]')
    connected(FakeMeter(), Settings(dialect=str(path)))
    assert '"ACME,M1,123,1.0" is none that the dialect "theirs" is for' in caplog.text
