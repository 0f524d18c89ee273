"""A SCPI source on a wire that exists only in the test: clipping, load, offset, shape, dialects.

Dialogue dl-11 is built from the manuals of generators that clip (see the head of the vector file); errors
-221 and -222 are those of SCPI-1999 volume 2, 21.8. What the fake generator can do is made up.
"""

import math
from collections.abc import Callable

import pytest

from meterlog.reading import Garbled, Refused, Settings, Tone
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.scpi import source as module
from meterlog_drivers.scpi.source import ScpiSource, connect_source
from tests.drivers.vectors import dialogue

VPP_PER_RMS = 2.0 * math.sqrt(2.0)
BESIDE_THE_SCRIPT: dict[str, Chunks] = {
    "*CLS": (),
    "*OPC?": [(0.002, b"1\n")],
    "*IDN?": [(0.002, b"ACME,G1,123,1.0\n")],
    "SYST:ERR?": [(0.002, b'0,"No error"\n')],
    "FUNC SIN": (),
    "VOLT:UNIT?": [(0.002, b"VPP\n")],
    "FUNC?": [(0.002, b"SIN\n")],
    "FREQ?": [(0.002, b"+1.0000000000000E+03\n")],
    "VOLT:OFFS?": [(0.002, b"+0.0000000000000E+00\n")],
    "OUTP:LOAD?": [(0.002, b"+5.0000000000000E+01\n")],
    "OUTP?": [(0.002, b"1\n")],
}


class Generator:
    """Answers by a table, keeps what it is told; clips its amplitude at `most`."""

    def __init__(self, **answers: str) -> None:
        self.answers = {
            "*IDN?": "ACME,G1,123,1.0",
            "*OPC?": "1",
            "FUNC?": "SIN",
            "FREQ?": "1000",
            "VOLT?": "0.1",
            "VOLT:UNIT?": "VPP",
            "VOLT:OFFS?": "0",
            "OUTP:LOAD?": "9.9E37",
            "OUTP?": "0",
        }
        self.answers.update({key.replace("_", ":") + "?": text for key, text in answers.items()})
        self.errors: list[str] = []
        self.most = 10.0
        self.heard: list[str] = []

    def __call__(self, line: bytes) -> Chunks:
        command = line.decode("ascii").strip().removeprefix("SOUR:")
        self.heard.append(command)
        if command == "SYST:ERR?":
            return self._say(self.errors.pop(0) if self.errors else '0,"No error"')
        if command.endswith("?"):
            return self._say(self.answers[command]) if command in self.answers else ()
        header, _, text = command.partition(" ")
        if header == "VOLT" and float(text) > self.most:
            self.errors.append('-222,"Data out of range;value clipped to upper limit"')
            text = f"{self.most:g}"
        if header in ("FREQ", "VOLT"):
            self.answers[f"{header}?"] = text
        elif header == "OUTP":
            self.answers["OUTP?"] = "1" if text == "ON" else "0"
        return ()

    @staticmethod
    def _say(text: str) -> Chunks:
        return [(0.002, text.encode("ascii") + b"\n")]


def connected(far_end: Callable[[bytes], Chunks], dialect: str = "", **options: str | float) -> ScpiSource:
    clock = FakeClock()
    settings = Settings(dialect=dialect, options={"amplitude": "auto", **options})
    return connect_source(FakeWire(clock, far_end), settings, clock)


def test_dialogue_11_a_generator_corrects_a_setting_by_itself() -> None:
    left = list(dialogue("dl-11")["steps"])

    def far_end(line: bytes) -> Chunks:
        if left and line.decode() == left[0]["tx"]:
            return [(chunk["ms"] / 1e3, chunk["data"].encode()) for chunk in left.pop(0)["rx"]]
        return BESIDE_THE_SCRIPT[line.decode().strip()]

    source = connected(far_end, "apply")  # an output that is on: only then all is set at once
    tone = source.set(1000.0, 20.0 / VPP_PER_RMS)
    expected = dialogue("dl-11")["expect"]
    assert f"{tone.level_v * VPP_PER_RMS:g} Vpp" == expected["set"]
    assert all(str(number) in tone.remark for number in expected["errors"])
    assert "value clipped to upper limit" in tone.remark
    assert "meant across 50 ohm" in tone.remark
    assert left == []


def test_clipped_is_told_and_what_is_read_back_counts() -> None:
    tone = connected(Generator()).set(1000.0, 5.0)
    assert tone.level_v == pytest.approx(10.0 / VPP_PER_RMS)
    assert tone.remark.startswith(
        "to SOUR:VOLT 14.1421 the source said -222 Data out of range (value clipped"
    )


def test_a_setting_that_moved_what_was_to_stay_is_refused_with_what_it_reads_back() -> None:
    with pytest.raises(Refused, match=r"-222 .*; it reads back 1000 Hz, 3\.536 V"):
        connected(Generator()).set(None, 5.0)


def test_all_errors_of_the_queue_are_read() -> None:
    generator = Generator()
    source = connected(generator)
    generator.errors += ['-221,"Settings conflict;frequency reduced"', '-222,"Data out of range"']
    remark = source.set(1000.0, 0.1).remark
    assert "-221 Settings conflict (frequency reduced), -222 Data out of range" in remark
    assert generator.errors == []


def test_another_error_is_a_refusal() -> None:
    generator = Generator()
    source = connected(generator)
    generator.errors.append('-113,"Undefined header"')
    with pytest.raises(Refused, match=r"refused SOUR:FREQ 50: -113 Undefined header"):
        source.set(50.0, 0.1)


def test_not_a_sine_is_refused() -> None:
    with pytest.raises(Refused, match=r"gives SQU, not a sine"):
        connected(Generator(FUNC="SQU")).set(1000.0, 0.1)


def test_an_offset_is_refused_with_what_is_read_back() -> None:
    with pytest.raises(Refused, match=r"an offset of -0\.25 V: set it to 0 V; it reads back 1000 Hz, 0\.1 V"):
        connected(Generator(VOLT_OFFS="-2.5E-01")).set(1000.0, 0.1)


def test_dbm_at_high_impedance_says_no_voltage() -> None:
    generator = Generator(VOLT_UNIT="DBM")
    with pytest.raises(Refused, match=r"dBm across high impedance.*set it to VRMS or VPP"):
        connected(generator).set(1000.0, 0.1)
    assert not any(command.startswith("VOLT ") for command in generator.heard)


def test_dbm_is_counted_across_the_load_that_it_was_told_of() -> None:
    """0.2236 V across 50 ohm are 0 dBm (1 mW)."""
    generator = Generator(VOLT_UNIT="DBM", OUTP_LOAD="50")
    tone = connected(generator).set(1000.0, 0.2236068)
    assert float(generator.answers["VOLT?"]) == pytest.approx(0.0, abs=1e-5)
    assert tone == Tone(1000.0, pytest.approx(0.2236068), False, "its level is meant across 50 ohm")


def test_a_unit_that_changes_meanwhile_shows_in_what_is_read_back() -> None:
    """Set in VPP; before it is read back someone turns the front panel to VRMS: 2.8 times as much."""

    class Turned(Generator):
        def __call__(self, line: bytes) -> Chunks:
            if b"VOLT " in line:
                self.answers["VOLT:UNIT?"] = "VRMS"
            return super().__call__(line)

    assert connected(Turned()).set(1000.0, 0.1).level_v == pytest.approx(0.2828, rel=1e-3)


def test_another_load_than_the_bench_file_s_is_refused_before_anything_is_set() -> None:
    generator = Generator(OUTP_LOAD="50")
    with pytest.raises(Refused, match=r"across 50 ohm, the bench file's across high impedance: set the load"):
        connected(generator, load="high impedance")
    assert not any(command.startswith(("VOLT ", "FREQ ", "OUTP:LOAD ")) for command in generator.heard)
    assert connected(generator, load=50).set(1000.0, 0.1).level_v == pytest.approx(0.1, rel=1e-5)


def test_a_source_without_load_and_offset_says_that_it_does_not_tell_them() -> None:
    generator = Generator()
    del generator.answers["VOLT:OFFS?"], generator.answers["OUTP:LOAD?"]
    source = connected(generator)
    heard = generator.heard.count("OUTP:LOAD?")
    assert source.set(1000.0, 0.1).remark == (
        "its offset cannot be read; its level is meant across a load that it does not tell"
    )
    assert heard == generator.heard.count("OUTP:LOAD?"), "asked once"


class SwitchesOn(Generator):
    """APPLy switches its output on, as some families' does (from memory)."""

    def __call__(self, line: bytes) -> Chunks:
        command = line.decode("ascii").strip()
        if command.startswith("APPL:SIN "):
            self.answers["FREQ?"], self.answers["VOLT?"], _ = command.removeprefix("APPL:SIN ").split(",")
            self.answers["OUTP?"] = "1"
        return super().__call__(line)


def test_apply_never_switches_an_output_on() -> None:
    """Not for an instant: what is set must have been read back before."""
    generator = SwitchesOn(FREQ="440", VOLT="2")
    source = connected(generator, "apply")
    tone = source.set(None, 0.1)
    assert (tone.on, tone.level_v, tone.frequency_hz) == (False, pytest.approx(0.1, rel=1e-5), 440.0)
    assert not [one for one in generator.heard if one.startswith(("APPL", "OUTP ON"))]


def test_apply_sets_an_output_that_is_on_at_once_and_keeps_what_is_not_asked_for() -> None:
    generator = SwitchesOn(FREQ="440", VOLT="2")
    source = connected(generator, "apply")
    assert source.switch_on().on
    tone = source.set(50.0, None)
    assert "APPL:SIN 50,2,0" in generator.heard
    assert (tone.on, tone.frequency_hz) == (True, 50.0)
    assert not [one for one in generator.heard if one.startswith("FREQ ")]


class TwoOutputs:
    """Each output answers to its own number; without one it is the first (SCPI-1999 volume 1, 6.2.5.2)."""

    def __init__(self) -> None:
        self.outputs = {1: Generator(), 2: Generator(VOLT="7")}

    def __call__(self, line: bytes) -> Chunks:
        text = line.decode("ascii")
        number = 2 if text.startswith(("SOUR2:", "OUTP2")) else 1
        return self.outputs[number](text.replace("SOUR2:", "SOUR:").replace("OUTP2", "OUTP").encode("ascii"))


@pytest.mark.parametrize("dialect", ["", "apply"])
def test_the_second_output_is_set_and_the_first_left_alone(dialect: str) -> None:
    two = TwoOutputs()
    source = connected(two, dialect, channel=2)
    assert source.set(3150.0, 0.5).level_v == pytest.approx(0.5, rel=1e-5)
    assert source.switch_on().on
    assert two.outputs[2].answers["FREQ?"] == "3150"
    assert not [one for one in two.outputs[1].heard if " " in one]
    assert two.outputs[1].answers["OUTP?"] == "0"


def test_nonsense_is_no_tone() -> None:
    with pytest.raises(Garbled, match="'SINE' is no number"):
        connected(Generator(FREQ="SINE"), amplitude="rms").set(None, None)


@pytest.mark.parametrize(
    ("dialect", "options", "says"),
    [
        ("", {"amplitude": "volts"}, "or auto where the source answers VOLT:UNIT?"),
        ("", {"channel": 0}, "the option channel is 0; write the number of the output: 1, 2, 3 or 4"),
        ("", {"channel": 2.0}, "the option channel is 2.0; write the number of the output: 1, 2, 3 or 4"),
        ("", {"load": True}, 'write a number of ohms, or "high impedance"'),
        ("other", {}, "no dialect 'other' of a source; there is apply, or none"),
    ],
)
def test_settings_that_cannot_be(dialect: str, options: dict[str, str | float], says: str) -> None:
    with pytest.raises(ValueError, match=says.replace("?", r"\?")):
        connected(Generator(), dialect, **options)


def test_the_head_of_the_module_names_every_option() -> None:
    from meterlog_drivers.scpi.source_plan import OPTIONS

    assert module.__doc__ is not None
    assert all(f"    {option} " in module.__doc__ for option in OPTIONS)
