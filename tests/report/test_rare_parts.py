"""What only some reports have, on paper."""

from meterlog.procedure import ActionKind, Pass
from meterlog.report.build import build_report
from meterlog.report.deviations import OVERRIDES
from meterlog.report.model import Issue
from meterlog.report.pdf import report_pdf, sheet_pdf
from tests.report.story import BEGAN, BENCH, PROCEDURE, Story
from tests.report.test_pdf import pages_of
from tests.report.test_statements import GATE, LABORATORY, SPECIFICATION

GUARD = """
[[guard]]
name = "Output drive"
channel = "output"
never_above = "+20 dBu"
text = "Turn it down."
"""


def everything() -> Story:
    """What only some have: a laboratory, an override, a gate, a guard, a specification, a signature."""
    sign = '\n[[step]]\nid = "sign"\ntitle = "Signature"\npattern = "sign"\n'
    text = PROCEDURE.replace("[[step]]", GATE + "[[step]]", 1) + GUARD + sign
    story = Story(text, bench=LABORATORY + BENCH, specifications={"bench meter": SPECIFICATION})
    story.act(ActionKind.NOTE, f"{OVERRIDES[0]}no other at hand")
    story.act(ActionKind.OTHER_METER, '\'bench meter\' is "B", until now it was "A": at calibration')
    story.end("gate", Pass.AS_FOUND)
    story.trip("level", Pass.AS_FOUND, 9.0, 7.75)
    story.act(ActionKind.BREAK_OFF, "power failed")
    story.act(ActionKind.ENTER, "M. *Tern*")
    story.now_s -= 1.0
    story.end("sign", Pass.AS_LEFT)
    return story


def test_what_only_some_sessions_have() -> None:
    issue = Issue(BEGAN, "A. Customer")
    pages = pages_of(report_pdf(build_report(everything().session(), issue)))
    text = " ".join(pages).replace("\u00a0", " ")
    for part in (
        "Bench & Sons 1 Mill Lane", "Begun all the same: no other at hand", "Cautions that were confirmed",
        "The supply lead is out.", "Guards that tripped", "Output drive", "session broken off",
        "was taken by the specification “Bench meter, 6.5 digits”, SHA-256 ", "Signed by M. *Tern*",
        "power failed", "A. Customer (as given by the customer)", "238 days before",
    ):  # fmt: skip
        assert part in text
    assert "Signed by" in pages[-1]
    assert 'Gone on with another meter: \'bench meter\' is "B", until now it was "A"' in text
    (sheet,) = pages_of(sheet_pdf(build_report(everything().session(), issue)))
    assert "Begun all the same: no other at hand" in sheet
