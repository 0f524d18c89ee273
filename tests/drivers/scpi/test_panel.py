"""Somebody uses the front panel while the meter is read: no number of another function is ever the channel's.

FUNC?, RANG? and RANG:AUTO? are of SCPI-1999 volume 2 (SENSe), CALC:STAT? of its CALCulate; answers to several
questions joined by semicolons: IEEE 488.2, 8.4, as in row sr-47 and dialogue dl-12. All from memory. What the
panel is set to, and when, is made up.
"""

from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Coupling, Garbled, Indication, Meter, Remarks, Settings, State, WireError
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.scpi.buffered import STARTED_ANEW
from meterlog_drivers.scpi.driver import driver
from meterlog_drivers.scpi.meter import CHANGED, SWITCHED_ON
from meterlog_drivers.scpi.panel import UNASKED, UNSEEN, UNSEEN_IN_PART, contradicts
from tests.drivers.fake_memory import FakeMemory
from tests.drivers.fake_meter import FakeMeter

AC = Settings(coupling=Coupling.AC)
TOGETHER = "FUNC?;:VOLT:AC:RANG:AUTO?;:CALC:STAT?"


class AtThePanel(FakeMeter):
    """Reads 1 as long as it measures volts AC without an offset, 2 at everything else."""

    def __init__(self) -> None:
        super().__init__(lambda: [(0.35, f"{self.shows:+.8E}\n".encode())])

    @property
    def shows(self) -> float:
        return 1.0 if self.function == "VOLT:AC" and not self.relative else 2.0


def connected(fake: FakeMeter, settings: Settings = AC) -> tuple[Meter, FakeClock]:
    clock = FakeClock()
    return driver.connect(FakeWire(clock, fake), settings, clock), clock


def remarks(meter: Meter) -> Sequence[str]:
    assert isinstance(meter, Remarks)
    return meter.remarks()


def values(shown: Sequence[Indication]) -> list[float | None]:
    return [one.value for one in shown]


def test_another_function_s_number_is_none_and_the_meter_is_set_up_again() -> None:
    fake = AtThePanel()
    meter, _ = connected(fake)
    assert values(meter.poll(1.0)) == [1.0]
    fake.function = "CURR:DC"
    (shown,) = meter.poll(1.0)
    assert (shown.value, shown.state, shown.raw) == (None, State.INVALID, b"+2.00000000E+00")
    assert remarks(meter) == [CHANGED.format('FUNC? says "CURR:DC", not "VOLT:AC"')]
    assert fake.function == "VOLT:AC"
    assert values(meter.poll(1.0)) == [1.0]


@pytest.mark.parametrize(
    ("settings", "set_to", "says"),
    [
        (AC, "1", "VOLT:AC:RANG:AUTO? says 0, not 1"),
        (Settings(coupling=Coupling.AC, range_max=10.0), "", "VOLT:AC:RANG:AUTO? says 1, not 0"),
        (
            Settings(coupling=Coupling.AC, range_max=10.0),
            "100",
            "VOLT:AC:RANG? says +1.00000000E+02, not +1.00000000E+01",
        ),
    ],
)
def test_a_range_that_is_not_the_channel_s_is_no_reading(settings: Settings, set_to: str, says: str) -> None:
    """The uncertainty hangs on it, and what one count is worth."""
    fake = AtThePanel()
    meter, _ = connected(fake, settings)
    was = fake.range_text
    fake.range_text = set_to
    assert values(meter.poll(1.0)) == [None]
    assert says in remarks(meter)[0]
    assert fake.range_text == was
    assert values(meter.poll(1.0)) == [1.0]


def test_a_meter_that_chooses_its_range_may_change_it() -> None:
    """RANG? then answers otherwise at each change: it is not asked."""
    fake = AtThePanel()
    meter, _ = connected(fake)
    fake.answers["VOLT:AC:RANG?"] = "+1.0E-01"
    assert values(meter.poll(1.0)) == [1.0]
    assert not [one for one in fake.heard if "RANG?" in one]


def test_a_relative_display_is_no_reading() -> None:
    fake = AtThePanel()
    meter, _ = connected(fake)
    fake.relative = True
    assert values(meter.poll(1.0)) == [None]
    assert "CALC:STAT? says 1, not 0" in remarks(meter)[0]


def test_a_relative_display_that_setting_up_does_not_switch_off_is_refused() -> None:
    fake = FakeMeter()
    fake.answers["CALC:STAT?"] = "1"
    with pytest.raises(Garbled, match=r"CALC:STAT\? says 1\): switch off relative, dB"):
        connected(fake)


def test_who_is_quicker_at_the_panel_than_the_first_look_is_noticed() -> None:
    """Else another function's answer would be taken for the right one for ever."""
    fake = FakeMeter()
    fake.answers["FUNC?"] = '"CURR:DC"'
    with pytest.raises(
        Garbled, match='set to VOLT:AC and says that it measures "CURR:DC": was its front panel'
    ):
        connected(fake)


def test_a_panel_that_does_not_let_go_gives_no_numbers() -> None:
    fake = AtThePanel()
    meter, _ = connected(fake)
    fake.answers["FUNC?"] = '"FREQ"'
    for _ in range(3):
        with pytest.raises(Garbled, match="does not stay so"):
            meter.poll(1.0)
        with pytest.raises(WireError):
            meter.resynchronise()
    del fake.answers["FUNC?"]
    meter.resynchronise()
    assert values(meter.poll(1.0)) == [1.0]


@pytest.mark.parametrize(
    ("answer", "header", "does"),
    [
        ('"VOLT:AC"', "VOLT:AC", False),
        ("VOLTAGE:AC", "VOLT:AC", False),
        ('"VOLT"', "VOLT:DC", False),
        ('"VOLT"', "VOLT:AC", True),
        ('"VOLT:DC"', "VOLT:AC", True),
        ('"VOLT:ACDC"', "VOLT:AC", True),
        ('"FRES"', "RES", True),
        ('"RES"', "RES", False),
        ('"SENS:CURR:AC"', "CURR:AC", False),
        ('"CURR"', "VOLT:DC", True),
        ("VAC", "VOLT:AC", False),
        ("17", "VOLT:AC", False),
        ('"DIOD"', "", False),
    ],
)
def test_only_what_surely_names_another_function_contradicts(answer: str, header: str, does: bool) -> None:
    assert contradicts(answer, header) is does


def test_a_spelling_of_the_maker_s_own_is_learnt_and_kept_to() -> None:
    fake = AtThePanel()
    fake.answers["FUNC?"] = "ACV"
    meter, _ = connected(fake)
    assert values(meter.poll(1.0)) == [1.0]
    fake.answers["FUNC?"] = "DCI"
    with pytest.raises(Garbled):
        meter.poll(1.0)


def test_a_meter_that_does_not_know_the_question_is_read_and_that_is_told_once() -> None:
    """-113 and no answer: it costs one time-out, at which it may beep once."""
    fake = FakeMeter()
    fake.untold = ["FUNC?"]
    meter, clock = connected(fake)
    assert clock.now_ns < 2_500_000_000
    for _ in range(30):
        assert values(meter.poll(1.0)) == [1.0]
    assert remarks(meter) == [UNSEEN.format("FUNC?")]
    assert [one for one in fake.heard if "FUNC" in one or "RANG" in one or "CALC" in one] == ["FUNC?"]
    assert fake.errors == []


def test_a_meter_that_answers_what_it_does_not_know_by_a_word_is_not_believed() -> None:
    """The error queue says that it is none."""

    class Wordy(FakeMeter):
        def __call__(self, line: bytes) -> Chunks:
            return super().__call__(line) or ([(0.002, b"ERROR\n")] if line.strip().endswith(b"?") else ())

    fake = Wordy()
    fake.untold = ["FUNC?"]
    meter, _ = connected(fake)
    assert remarks(meter) == [UNSEEN.format("FUNC?")]


def test_nor_one_that_answers_1_to_everything() -> None:
    fake = AtThePanel()
    fake.answers = dict.fromkeys(("FUNC?", "VOLT:AC:RANG:AUTO?", "CALC:STAT?"), "1")
    meter, _ = connected(fake)
    assert remarks(meter) == [UNSEEN.format("FUNC?")]
    assert values(meter.poll(1.0)) == [1.0]


@pytest.mark.parametrize("question", ["FUNC?", "VOLT:AC:RANG:AUTO?", "CALC:STAT?"])
def test_nor_where_its_error_queue_says_nothing(question: str) -> None:
    """As the simulated backend of PyVISA does: a word in place of each answer, and no error."""
    fake = AtThePanel()
    fake.answers[question] = "ERROR"
    meter, _ = connected(fake)
    assert question in remarks(meter)[0]
    assert values(meter.poll(1.0)) == [1.0]


UNITED = {"1.5E+00": [UNASKED], "1.5E+00VAC": []}


@pytest.mark.parametrize("number", UNITED)
def test_a_dialect_without_a_question_says_so_where_numbers_are_bare(number: str, tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text('like = "plain"\n[panel]\nfunction = ""\n')
    fake = FakeMeter(lambda: [(0.1, f"{number}\n".encode())])
    meter, _ = connected(fake, Settings(coupling=Coupling.AC, dialect=str(tmp_path / "mine.toml")))
    assert [values(meter.poll(1.0)) for _ in range(3)] == 3 * [[1.5]]
    assert remarks(meter) == UNITED[number]
    assert not [one for one in fake.heard if "FUNC?" in one or "STAT?" in one]


def test_what_it_knows_in_part_is_watched_in_part() -> None:
    fake = AtThePanel()
    fake.untold = ["CALC:STAT?"]
    meter, _ = connected(fake)
    assert remarks(meter) == [UNSEEN_IN_PART.format("CALC:STAT?")]
    meter.poll(1.0)
    assert fake.heard[-1] == "FUNC?;:VOLT:AC:RANG:AUTO?"
    fake.function = "FREQ"
    assert values(meter.poll(1.0)) == [None]


class OneAtATime(AtThePanel):
    """Takes one question in a message; the second is an error, and nothing is answered."""

    def __call__(self, line: bytes) -> Chunks:
        if b";" in line:
            self.heard.append(line.decode().strip())
            self.errors.append('-113,"Undefined header"')
            return ()
        return super().__call__(line)


class LineByLine(AtThePanel):
    """Answers each question of a message by a line of its own."""

    def __call__(self, line: bytes) -> Chunks:
        return [chunk for one in line.split(b";") for chunk in super(LineByLine, self).__call__(one + b"\n")]


@pytest.mark.parametrize("kind", [OneAtATime, LineByLine])
def test_a_meter_that_takes_one_question_at_a_time_is_asked_so(kind: type[AtThePanel]) -> None:
    fake = kind()
    meter, _ = connected(fake)
    assert values(meter.poll(1.0)) == [1.0]
    assert fake.heard[-4:] == ["READ?", "FUNC?", "VOLT:AC:RANG:AUTO?", "CALC:STAT?"]
    fake.function = "VOLT:DC"
    assert values(meter.poll(1.0)) == [None]
    assert values(meter.poll(1.0)) == [1.0]


def test_all_is_asked_in_one_message_where_the_meter_answers_it() -> None:
    fake = AtThePanel()
    meter, _ = connected(fake)
    meter.poll(1.0)
    assert fake.heard[-2:] == ["READ?", TOGETHER]


def test_a_meter_that_lost_its_settings_with_its_power_is_told_so() -> None:
    """Its numbers are those of another function until it is set up again: not one of them is taken."""
    fake = AtThePanel()
    meter, _ = connected(fake)
    fake.function, fake.events = "VOLT", 128
    assert values(meter.poll(1.0)) == [None]
    assert remarks(meter) == [SWITCHED_ON]
    assert values(meter.poll(1.0)) == [1.0]


def test_a_meter_in_remote_is_taken_to_remote_again_before_it_is_set_up_again() -> None:
    """Somebody pressed its local key first; a serial one obeys nothing before SYST:REM."""
    fake = AtThePanel()
    meter, _ = connected(fake, Settings(coupling=Coupling.AC, options={"remote": True}))
    fake.heard.clear()
    fake.function = "FREQ"
    assert values(meter.poll(1.0)) == [None]
    told = [one for one in fake.heard if one.startswith(("SYST:REM", "CONF"))]
    assert told == ["SYST:REM", "CONF:VOLT:AC"]
    assert values(meter.poll(1.0)) == [1.0]
    meter.close()
    assert fake.heard[-1] == "SYST:LOC"


def test_an_answer_without_its_look_is_no_reading() -> None:
    """The look is not answered in time: what came before it stays unsaid."""
    fake = AtThePanel()
    meter, _ = connected(fake)
    meter.poll(1.0)
    fake.function, fake.answers[TOGETHER] = "CURR:DC", ""
    fake.untold = ["FUNC?", "VOLT:AC:RANG:AUTO?", "CALC:STAT?"]
    with pytest.raises(WireError):
        meter.poll(1.0)
    fake.untold = []
    fake.errors.clear()
    meter.resynchronise()
    assert "changed at its front panel" in remarks(meter)[-1]
    assert values(meter.poll(1.0)) == [1.0]


FUNCTIONS = ["VOLT:AC", "VOLT", "CURR:DC", "FREQ"]
PRESSED = st.tuples(st.floats(0.5, 4.0), st.sampled_from(FUNCTIONS))


@given(presses=st.lists(PRESSED, max_size=8))
def test_no_number_of_another_function_is_delivered_whenever_it_is_chosen(
    presses: list[tuple[float, str]],
) -> None:
    """The panel is used at any moments that lie further apart than one answer takes."""
    clock, fake = FakeClock(), AtThePanel()
    left = list(presses)
    next_s = left[0][0] if left else float("inf")

    def far_end(line: bytes) -> Chunks:
        nonlocal next_s
        if clock.now_ns / 1e9 - began_s >= next_s:
            fake.function = left.pop(0)[1]
            next_s = clock.now_ns / 1e9 - began_s + left[0][0] if left else float("inf")
        return fake(line)

    began_s = clock.now_ns / 1e9
    meter = driver.connect(FakeWire(clock, far_end), AC, clock)
    seen: list[float | None] = []
    while left:
        seen += values(meter.poll(1.0))
    seen += values(meter.poll(1.0))
    assert set(seen) <= {1.0, None}
    assert values(meter.poll(1.0)) == [1.0]


def test_a_memory_s_readings_are_confirmed_before_they_are_delivered() -> None:
    clock = FakeClock()
    fake = FakeMemory(clock, 0.02)
    settings = Settings(dialect="memory-band", options={"buffered": True})
    meter = driver.connect(FakeWire(clock, fake), settings, clock)
    before = read_for(meter, clock, 1.0)
    assert before == list(range(1, len(before) + 1))
    fake.function = "CURR:DC"
    after = read_for(meter, clock, 1.0)
    taken_back = after.count(None)
    assert after[:taken_back] == [None] * taken_back
    assert 0 < taken_back <= 5, "of one emptied memory"
    assert "changed at its front panel (FUNC?" in remarks(meter)[-1]
    assert len(after) > 30


def test_a_memory_that_the_panel_stopped_is_not_started_anew_with_another_function() -> None:
    """Any change of function empties the memory, and may stop the meter: manuals of bench meters."""
    clock = FakeClock()
    fake = FakeMemory(clock, 0.02)
    settings = Settings(dialect="memory-band", options={"buffered": True})
    meter = driver.connect(FakeWire(clock, fake), settings, clock)
    read_for(meter, clock, 1.0)
    fake.stop()
    fake.function = "CURR:DC"
    with pytest.raises(WireError):
        read_for(meter, clock, 5.0)
    meter.resynchronise()
    assert fake.function == "VOLT:DC"
    assert remarks(meter)[0] == STARTED_ANEW
    assert None not in read_for(meter, clock, 1.0)


def read_for(meter: Meter, clock: FakeClock, seconds: float) -> list[float | None]:
    until_ns = clock.now_ns + round(seconds * 1e9)
    found: list[float | None] = []
    while clock.now_ns < until_ns:
        found += values(meter.poll(0.25))
        clock.pass_s(0.005)
    return found
