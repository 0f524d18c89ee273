"""Seen from across the bench: sizes, contrast, and that nothing is cut off or overlaps."""

from itertools import pairwise

import pytest
from playwright.sync_api import FloatRect, Page, expect

from tests.browser.fake_daemon import FakeDaemon
from tests.browser.helpers import OpenPage
from tests.browser.messages import LEVEL, PREPARE, channel, live, plan, view

DESK, TABLET, PHONE = (1280, 800), (1024, 600), (390, 844)

# Digits of 22 minutes of arc: the upper end of what ISO 9241-303:2011 recommends for reading (20' to 22',
# from memory). At 3 m that is 3000 mm * tan(22') = 19.2 mm; 1 px = 1/96 inch (W3C CSS Values 3, 6.2).
CAP_HEIGHT_PX = 19.2 / 25.4 * 96

CAP_HEIGHT = """node => {
  const style = getComputedStyle(node);
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
  return pen.measureText("0").actualBoundingBoxAscent;
}"""

# Relative luminance and contrast ratio as W3C WCAG 2.2 defines them; 4.5 : 1 is its level AA for text.
CONTRAST = """() => {
  const style = getComputedStyle(document.documentElement);
  const luminance = (name) => {
    const hex = style.getPropertyValue(name).trim();
    const [r, g, b] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16) / 255)
      .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const pairs = [["--ink", "--paper"], ["--ink", "--sheet"], ["--quiet", "--paper"], ["--quiet", "--sheet"],
    ["--inside", "--paper"], ["--outside", "--paper"], ["--outside", "--sheet"], ["--press", "--paper"],
    ["--on-press", "--press"], ["--ink", "--outside-wash"], ["--on-alarm", "--alarm"]];
  return pairs.map(([one, other]) => {
    const [high, low] = [luminance(one), luminance(other)].sort((a, b) => b - a);
    return [`${one} on ${other}`, (high + 0.05) / (low + 0.05)];
  });
}"""

SIDEWAYS = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def open_at(open_page: OpenPage, size: tuple[int, int], **options: str) -> Page:
    return open_page(viewport={"width": size[0], "height": size[1]}, **options)


def busy(daemon: FakeDaemon, caution: str = "Keep the other hand off the chassis.") -> None:
    shown = view(LEVEL, place=7, plan=plan(7), caution=caution, text="Play the 1 kHz section.")
    lost = channel("panel", link="lost", link_text="gone")
    daemon.show(live(shown, channel(), channel("input", -16.0), lost))


def box(page: Page, selector: str) -> FloatRect:
    found = page.locator(selector).bounding_box()
    assert found is not None
    return found


@pytest.mark.parametrize("size", [DESK, TABLET])
def test_the_digits_can_be_read_at_three_metres(
    open_page: OpenPage, daemon: FakeDaemon, size: tuple[int, int]
) -> None:
    page = open_at(open_page, size)
    busy(daemon)
    expect(page.locator("#number")).to_have_text("+3.65")
    assert page.locator("#number").evaluate(CAP_HEIGHT) >= CAP_HEIGHT_PX


@pytest.mark.parametrize("size", [DESK, TABLET, PHONE])
def test_nothing_runs_off_sideways(open_page: OpenPage, daemon: FakeDaemon, size: tuple[int, int]) -> None:
    page = open_at(open_page, size)
    expect(page.locator("#start-form")).to_be_visible()
    assert page.evaluate(SIDEWAYS) <= 0
    busy(daemon)
    expect(page.locator("#number")).to_have_text("+3.65")
    assert page.evaluate(SIDEWAYS) <= 0
    digits, level = box(page, "#digits"), box(page, ".level")
    assert digits["x"] >= level["x"] - 1
    unit = box(page, "#unit")
    assert unit["x"] + unit["width"] <= level["x"] + level["width"] + 1


@pytest.mark.parametrize("size", [DESK, TABLET])
def test_all_of_the_work_fits_on_the_screen_without_overlap(
    open_page: OpenPage, daemon: FakeDaemon, size: tuple[int, int]
) -> None:
    page = open_at(open_page, size)
    busy(
        daemon, caution="Keep the other hand off the chassis, and the screwdriver out of the mains side. " * 8
    )
    expect(page.locator("#number")).to_have_text("+3.65")
    column = [
        box(page, part) for part in ("#caution", "#digits", "#scale", "#why-not", "#chart", "#channels")
    ]
    for upper, lower in pairwise(column):
        assert upper["y"] + upper["height"] <= lower["y"] + 1
    assert column[-1]["y"] + column[-1]["height"] <= size[1]


@pytest.mark.parametrize("size", [DESK, TABLET, PHONE])
def test_go_on_is_in_reach_and_big_enough_for_a_thumb(
    open_page: OpenPage, daemon: FakeDaemon, size: tuple[int, int]
) -> None:
    page = open_at(open_page, size)
    daemon.show(live(view(PREPARE)))
    expect(page.locator("#go-on")).to_be_in_viewport(ratio=1)
    button = box(page, "#go-on")
    assert min(button["width"], button["height"]) >= 24  # CSS px: W3C WCAG 2.2, 2.5.8 target size (minimum)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_in_both_schemes(open_page: OpenPage, scheme: str) -> None:
    page = open_at(open_page, DESK, color_scheme=scheme)
    ratios = dict(page.evaluate(CONTRAST))
    assert len(ratios) == 11
    assert {pair: ratio for pair, ratio in ratios.items() if ratio < 4.5} == {}


def test_digits_keep_their_size_when_a_sign_comes_and_goes(page: Page, daemon: FakeDaemon) -> None:
    size = "node => getComputedStyle(node).fontSize"
    daemon.show(live(view(LEVEL), channel(text="-10.65 dBu")))
    expect(page.locator("#number")).to_have_text("-10.65")
    before = page.locator("#number").evaluate(size)
    daemon.show(live(view(LEVEL), channel(text="9.65 dBu")))
    expect(page.locator("#number")).to_have_text("9.65")
    assert page.locator("#number").evaluate(size) == before
