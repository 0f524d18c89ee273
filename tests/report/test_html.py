"""The page itself, read back with the standard library's parser."""

from html.parser import HTMLParser

import pytest

from meterlog.procedure import Pass
from meterlog.report.build import build_report
from meterlog.report.html import report_html
from meterlog.report.model import Report
from tests.report.story import PROCEDURE, Story
from tests.report.wagtail import whole_story

_VOID = frozenset({"meta", "link", "br", "col", "hr", "img", "input"})


class Page(HTMLParser):
    """Rows of cells, all text, all elements; fails on an element that is closed out of turn."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.text = ""
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self._open: list[str] = []
        self._in_cell = False
        self.feed(html)
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in _VOID:
            self._open.append(tag)
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
            self._in_cell = True

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag
        if tag in ("td", "th"):
            self._in_cell = False
            self.rows[-1][-1] = " ".join(self.rows[-1][-1].split())

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] in ("style", "script"):
            return
        self.text += data
        if self._in_cell:
            self.rows[-1][-1] += f"{data} "


def page_of(story: Story) -> Page:
    return Page(report_html(build_report(story.session())))


@pytest.fixture(scope="module")
def report() -> Report:
    return build_report(whole_story().session())


@pytest.fixture(scope="module")
def html(report: Report) -> str:
    return report_html(report)


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


def test_every_row_of_the_report_is_a_row_of_the_page(page: Page, report: Report) -> None:
    level = next(row for row in page.rows if row[0] == "Reproduce level")
    assert level == [
        "Reproduce level",
        "+4.00 dBu +3.90 to +4.10",
        "+3.400 dBu ± 0.019 dB −0.600 dB from the target, k = 2.13, no. 2",
        "fail",
        "+4.020 dBu ± 0.019 dB +0.020 dB from the target, k = 2.13, no. 21",
        "pass",
    ]
    firsts = [row[0] for row in page.rows if len(row) == 6]
    for row in report.rows:
        assert f"{row.title} {row.line}".strip().replace("3 dB", "3\u00a0dB") in firsts or row.line


def test_every_captured_value_is_on_the_page(page: Page, report: Report) -> None:
    numbers = [row[0] for row in page.rows if len(row) == 8]
    assert numbers == ["No.", *(str(value.number) for value in report.captured)]


def test_a_verdict_is_a_word_and_a_shape_not_only_a_colour(page: Page) -> None:
    marks = [attributes for tag, attributes in page.elements if "standing" in (attributes.get("class") or "")]
    assert len(marks) > 20
    shapes = [t for t, attributes in page.elements if t == "svg" and attributes.get("aria-hidden") == "true"]
    assert len(shapes) == len(marks)


def test_nothing_runs_and_nothing_is_fetched(html: str, page: Page) -> None:
    assert not {"script", "link", "img", "iframe", "object", "embed"} & {tag for tag, _ in page.elements}
    fetching = [
        a for _, attributes in page.elements for a in attributes if a in ("src", "href") or a[:2] == "on"
    ]
    assert fetching == []
    assert "@import" not in html
    assert "http" not in html.replace("http://www.w3.org/", "")


def test_text_from_outside_stays_text(html: str, page: Page) -> None:
    assert "<b>cleaned</b>" not in html
    assert "Heads worn; <b>cleaned</b> twice." in page.text


def test_a_hostile_unit_name_ends_neither_the_style_nor_the_page() -> None:
    text = PROCEDURE.replace('title = "Reproduce and', 'title = "\\"} </style><script>x()</script> and')
    html = report_html(build_report(Story(text).session()))
    assert "<script>" not in html
    assert html.count("</style>") == 1
    assert "</style><script>x()</script>" in Page(html).text


def test_ids_are_unique_across_charts(page: Page) -> None:
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))


def test_redone_skipped_and_unfinished_are_said_in_words() -> None:
    story = Story()
    story.level("level", Pass.AS_FOUND, 3.0)
    story.redo("level", Pass.AS_FOUND, "probe slipped")
    story.level("level", Pass.AS_FOUND, 3.4)
    story.skip("bias", Pass.AS_FOUND, "no tape at hand")
    page = page_of(story)
    assert "This session is not finished" in page.text
    assert "replaced by 2: probe slipped" in page.text
    assert "no tape at hand" in page.text
    assert sorted({row[5] for row in page.rows if len(row) == 6 and row[0] == "Reproduce level"}) == [
        "not done"
    ]


def test_an_empty_session_is_a_whole_page() -> None:
    page = page_of(Story())
    assert "No value was captured in this session." in page.text
    assert page.text.count("incomplete") == 2


def test_the_night_when_a_clock_hour_comes_twice_is_told_apart(page: Page) -> None:
    assert "2026-10-25 02:20:00 +02:00" in page.text
    assert "2026-10-25 00:20:00 UTC" in page.text
