"""What a report of a calibration carries, line by line: ISO/IEC 17025:2017, 7.8.2 to 7.8.8, in our own words.

Each line has what stands on the report for it, or why none is needed. The session and its names are invented.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

import pytest

from meterlog.procedure import ActionKind, Pass
from meterlog.records import Commission
from meterlog.report.build import build_report
from meterlog.report.html import report_html, sheet_html
from meterlog.report.model import Issue, Report
from meterlog.report.pdf import report_pdf
from tests.report.story import BENCH, SUMMER
from tests.report.test_pdf import pages_of
from tests.report.wagtail import whole_story

LABORATORY = '[laboratory]\nname = "Bench and Sons"\naddress = "1 Mill Lane"\n'
COMMISSION = Commission(
    customer="A. Customer, 2 Hill Road",
    customer_says="hums on the left",
    received="2026-10-20",
    work_place="in the customer's studio",
)
ISSUE = Issue(
    at=datetime(2026, 10, 26, 9, tzinfo=SUMMER), number="12-2", replaces="12-1", because="wrong address"
)
NUMBER = "report 12-2, session 12, unit W12-0042"


@dataclass(frozen=True)
class Made:
    """One report in all its forms, as texts."""

    report: Report
    page: str
    sheet: str
    paper: tuple[str, ...]

    def say(self, *texts: str) -> bool:
        """On the page and on paper."""
        return all(text in self.page and text in " ".join(self.paper) for text in texts)


@pytest.fixture(scope="module")
def made() -> Made:
    story = whole_story()
    story.bench, story.commission = LABORATORY + BENCH, COMMISSION
    story.specifications = {"bench meter": Path("config/meters/bench-6.5-digits.toml").read_text()}
    story.act(ActionKind.ENVIRONMENT, "23 degC, 45 % RH")
    story.skip("noise", Pass.AS_LEFT, "no tape")
    report = build_report(story.session(), ISSUE)
    paper = tuple(page.replace("\u00a0", " ") for page in pages_of(report_pdf(report)))
    return Made(report, _plain(report_html(report)), _plain(sheet_html(report)), paper)


def _plain(page: str) -> str:
    return page.replace("&#39;", "'").replace("&nbsp;", " ").replace("\u00a0", " ")


def _each_page_is_tied(made: Made) -> bool:
    places = enumerate(made.paper, 1)
    tied = all(NUMBER in page and f"page {n} of {len(made.paper)}" in page for n, page in places)
    return tied and f"End of the report, {NUMBER}" in made.paper[-1]


def _uncertain_in_the_unit_of_the_result(made: Made) -> bool:
    cells = [cell for row in made.report.rows for cell in (row.found, row.left) if cell.shown]
    return bool(cells) and all(
        cell.shown and cell.shown.uncertainty and cell.shown.distance_unit for cell in cells
    )


ON_IT: dict[str, Callable[[Made], bool]] = {
    "7.8.2.1 a, title": lambda made: made.say("Report of an alignment"),
    "7.8.2.1 b, laboratory": lambda made: made.say("Bench and Sons", "1 Mill Lane"),
    "7.8.2.1 c, where the work was done": lambda made: made.say("in the customer's studio"),
    "7.8.2.1 d, one identity on every page, and an end": _each_page_is_tied,
    "7.8.2.1 e, customer": lambda made: made.say("A. Customer, 2 Hill Road"),
    "7.8.2.1 f, method": lambda made: made.say(
        "Procedure", "revision 3", made.report.header.procedure_digest
    ),
    "7.8.2.1 g, the item, its identity and condition": lambda made: made.say(
        "Wagtail 12, serial number W12-0042", "Condition of the unit"
    ),
    "7.8.2.1 h, receipt": lambda made: made.say("Received", "2026-10-20"),
    "7.8.2.1 i, when it was done": lambda made: made.say("Began", "2026-10-25 02:20:00 +02:00", "Ended"),
    "7.8.2.1 j, issue": lambda made: made.say("Issued", "2026-10-26 09:00:00 +02:00"),
    "7.8.2.1 l, only the items": lambda made: made.say("The results relate only to the unit named above"),
    "7.8.2.1 m, results with units": lambda made: made.say("+4.020 dBu", "−100.70 mV"),
    "7.8.2.1 n, what was done differently": lambda made: made.say(
        "Done otherwise than the procedure asks", "step done again", "step left out", "no tape"
    ),
    "7.8.2.1 o, who authorises": lambda made: made.say("Authorised by"),
    "7.8.2.2, supplied by the customer": lambda made: made.say(
        "(as given by the customer)", "hums on the left", "(supplied by the customer, not verified here)"
    ),
    "7.8.4.1 a, uncertainty in the unit of the result": _uncertain_in_the_unit_of_the_result,
    "7.8.4.1 b, conditions": lambda made: made.say("Temperature and humidity", "23 °C", "45 %"),
    "7.8.4.1 c, traceability": lambda made: made.say("Traceability rests on", "DT-0007", "2026-03-01"),
    "7.8.4.1 d, before and after adjusting": lambda made: made.say("As found", "As left", "+3.400 dBu"),
    "7.8.4.1 e, conformity": lambda made: made.report.as_left.text != "" and made.say("fail", "pass"),
    "7.8.6.1, decision rule and its risk": lambda made: made.say("Simple acceptance", "grows to 50 %"),
    "7.8.6.2 a, which results": lambda made: all(row.found.standing or row.left for row in made.report.rows),
    "7.8.6.2 b, against what": lambda made: made.say(
        "+3.90 to +4.10", "The windows are those of the procedure named above, revision 3."
    ),
    "7.8.6.2 c, by which rule": lambda made: made.say(made.report.statements.decision_rule.split(":")[0]),
    "7.8.8, what it replaces and why": lambda made: made.say("Replaces report 12-1, because: wrong address"),
}
NOT_ON_IT = {
    "7.8.2.1 k, sampling": "one unit is looked at, by all steps of its procedure; nothing is sampled",
    "7.8.2.1 p, results of others": "a meter showed or the operator typed in every value",
    "7.8.4.1 f, opinions": "a program has none; what the operator wrote stands among the notes",
    "7.8.4.3, no interval": "the test below looks that no next date is on it",
}


@pytest.mark.parametrize("line", ON_IT)
def test_it_is_on_the_report(made: Made, line: str) -> None:
    assert ON_IT[line](made), line


def test_every_line_of_7_8_2_1_is_accounted_for() -> None:
    told = {line.split(",")[0] for line in (*ON_IT, *NOT_ON_IT)}
    assert {f"7.8.2.1 {letter}" for letter in "abcdefghijklmnop"} <= told
    assert {f"7.8.4.1 {letter}" for letter in "abcdef"} <= told
    assert {f"7.8.6.2 {letter}" for letter in "abc"} <= told


def test_no_interval_is_recommended(made: Made) -> None:
    """7.8.4.3: not unless the customer has agreed to it."""
    for text in (made.page, made.sheet, *made.paper):
        assert not {"next", "due", "interval", "recalibrat"} & set(text.lower().split())


def test_the_sheet_has_what_the_customer_looks_for(made: Made) -> None:
    for text in (
        NUMBER, "Bench and Sons", "1 Mill Lane", "A. Customer, 2 Hill Road", "Received", "2026-10-20",
        "in the customer's studio", "23 °C, 45 % RH", "W12-0042", "Replaces report 12-1", "fail", "pass",
        "Simple acceptance", "relate only to the unit", "Authorised by", "2026-10-26 09:00:00 +02:00",
    ):  # fmt: skip
        assert text in made.sheet, text


def test_what_is_not_known_is_said_to_be_left_out(made: Made) -> None:
    assert made.report.statements.left_out == ()
    bare = whole_story()
    assert build_report(bare.session(), replace(ISSUE, customer="")).statements.left_out == (
        "name and address of the laboratory", "the customer", "the day the unit was received",
        "the temperature", "the humidity",
    )  # fmt: skip
