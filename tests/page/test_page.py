"""The whole page: quiet, closed to scripts not its own, readable by anyone, narrow, printable.

Sources: WCAG 2.2 (success criteria named beside each check) and the rules of axe-core, which
axe-playwright-python brings along.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from tests.page.browsing import (
    DESKTOP,
    EXAMPLES,
    PHONE,
    SMALL_PHONE,
    TWO,
    Opener,
    faults,
    folder_page,
    overflow,
    printed,
    stands_in,
    unfold,
    without_scripts,
)
from tests.page.flocks import written_plan

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from playwright.sync_api import Browser, Page, ViewportSize

    from tests.page.browsing import Facts

pytestmark = pytest.mark.page

INJECTED = """() => {
  const script = document.createElement("script");
  script.textContent = "window.injected = true";
  document.body.append(script);
  return window.injected === true;
}"""

ASKS_OUT = """() => fetch("https://example.org/").then(() => "answered", () => "refused")"""


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_opens_from_disk_and_asks_for_nothing(
    opened: Opener, example_page: Callable[[str], Path], name: str
) -> None:
    page = opened(example_page(name))
    assert page.title().startswith("Pens for ")
    page.emulate_media(color_scheme="dark")
    assert len(opened.record(page).requests) == 1  # the record does see requests


def test_dark_is_dark(opened: Opener, example_page: Callable[[str], Path]) -> None:
    ground = "getComputedStyle(document.body).backgroundColor.match(/\\d+/g).map(Number)"
    light = opened(example_page("tarn-croft")).evaluate(ground)
    dark = opened(example_page("tarn-croft"), dark=True).evaluate(ground)
    assert sum(dark) < 200
    assert sum(light) > 600


@pytest.mark.parametrize(
    "body",
    [
        "<script>console.log('said')</script>",
        "<script>throw new Error('thrown')</script>",
        "<img src='elsewhere.png' alt=''>",
    ],
)
def test_a_page_that_is_not_quiet_is_found_out(browser: Browser, tmp_path: Path, body: str) -> None:
    opener = Opener(browser, tmp_path)
    opener(f"<!doctype html><title>Loud</title>{body}")
    with pytest.raises(AssertionError):
        opener.close()


def test_the_policy_refuses_scripts_that_are_not_its_own(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("tarn-croft"), quiet=False)
    assert page.evaluate(INJECTED) is False
    assert any("Content Security Policy" in text for text in opened.record(page).messages)
    guardless = opened(example_page("tarn-croft"), bypass_csp=True)
    assert guardless.evaluate(INJECTED) is True


def test_the_policy_refuses_the_network(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("tarn-croft"), offline=False, quiet=False)
    assert page.evaluate(ASKS_OUT) == "refused"
    assert len(opened.record(page).requests) == 1


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_never_scrolls_sideways(
    opened: Opener, example_page: Callable[[str], Path], name: str
) -> None:
    """WCAG 2.2 SC 1.4.10, which asks for 320 px."""
    page = opened(example_page(name), viewport=PHONE)
    assert overflow(page) == []
    unfold(page)
    for viewport in (PHONE, SMALL_PHONE):
        page.set_viewport_size(viewport)
        assert overflow(page) == []


@pytest.mark.parametrize("name", TWO)
def test_no_word_of_a_table_is_broken_on_a_phone(
    opened: Opener, example_page: Callable[[str], Path], name: str
) -> None:
    page = opened(example_page(name), viewport=PHONE)
    unfold(page)
    broken: list[str] = page.evaluate(BROKEN_WORDS)
    assert broken == []


BROKEN_WORDS = """() => {
  const lines = (cell) => {
    const range = document.createRange();
    range.selectNodeContents(cell);
    return new Set([...range.getClientRects()].map((box) => Math.round(box.top / 8))).size;
  };
  return [...document.querySelectorAll("td, th")]
    .filter((cell) => cell.checkVisibility() && !cell.firstElementChild
      && getComputedStyle(cell).writingMode === "horizontal-tb")
    .filter((cell) => lines(cell) > (cell.textContent.match(/[^\\s-]+-?/g) || []).length)
    .map((cell) => cell.textContent).slice(0, 8);
}"""
"""Cells in more lines than words; a word may end with a hyphen."""


@pytest.fixture(scope="module")
def small_page(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A page with little on it, but all there is."""
    return folder_page(written_plan(tmp_path_factory.mktemp("small")))


@pytest.mark.parametrize(
    ("viewport", "dark", "scripts"),
    [
        (DESKTOP, False, True),
        (DESKTOP, True, False),
        (PHONE, True, True),
        (PHONE, False, False),
    ],
    ids=["1280-light-scripts", "1280-dark-without", "360-dark-scripts", "360-light-without"],
)
def test_axe_finds_nothing(
    opened: Opener, small_page: str, viewport: ViewportSize, *, dark: bool, scripts: bool
) -> None:
    """All rules of axe-core, contrast (WCAG 2.2 SC 1.4.3) and best practices with them.

    Any two of width, colours and scripts meet.
    """
    shown = small_page if scripts else without_scripts(small_page)
    assert faults(opened(shown, viewport=viewport, dark=dark)) == []


def test_axe_finds_nothing_in_a_flock_of_the_usual_size(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    assert faults(opened(example_page("tarn-croft"))) == []


def test_axe_sees_what_is_wrong(opened: Opener) -> None:
    found = faults(opened("<!doctype html><title>a</title><p style='color:#ccc'>pale</p>"))
    assert {"color-contrast", "html-has-lang"} <= {one.partition(":")[0] for one in found}


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
@pytest.mark.parametrize("name", TWO)
def test_its_bones_are_sound(
    opened: Opener, example_page: Callable[[str], Path], name: str, *, scripts: bool
) -> None:
    page = opened(example_page(name), scripts=scripts)
    assert page.get_attribute("html", "lang") == "en"
    assert _repeated_ids(page) == []
    assert _dangling(page) == []
    assert page.evaluate(HANDLERS) == []
    levels: list[int] = page.evaluate(HEADINGS)
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert [pair for pair in pairwise(levels) if pair[1] > pair[0] + 1] == []


HEADINGS = "[...document.querySelectorAll('h1,h2,h3,h4,h5,h6')].map((one) => +one.tagName[1])"

HANDLERS = """[...document.querySelectorAll("*")].flatMap((one) =>
  one.getAttributeNames().filter((name) => name.startsWith("on")))"""

REFERENCES = """() => {
  const lists = ["aria-labelledby", "aria-describedby", "aria-controls", "headers", "for", "list"];
  const of = (one) => [
    ...lists.flatMap((name) => (one.getAttribute(name) || "").split(/\\s+/)),
    (one.getAttribute("href") || "#").replace(/^#/, ""),
  ];
  const named = new Set([...document.querySelectorAll("*")].flatMap(of));
  named.delete("");
  return [...named].filter((name) => !document.getElementById(name));
}"""


def _repeated_ids(page: Page) -> list[str]:
    ids: list[str] = page.evaluate("[...document.querySelectorAll('[id]')].map((one) => one.id)")
    return sorted({one for one in ids if ids.count(one) > 1})


def _dangling(page: Page) -> list[str]:
    """Names that labels, descriptions and links refer to, and that nothing bears."""
    found: list[str] = page.evaluate(REFERENCES)
    return found


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
@pytest.mark.parametrize("viewport", [DESKTOP, PHONE], ids=["1280", "360"])
def test_fingers_in_gloves_hit_what_they_aim_at(
    opened: Opener,
    example_page: Callable[[str], Path],
    viewport: ViewportSize,
    *,
    scripts: bool,
) -> None:
    """WCAG 2.2 SC 2.5.8: 24 px, links within a sentence excepted; what is pressed most, 44 px."""
    page = opened(example_page("tarn-croft"), viewport=viewport, scripts=scripts)
    unfold(page)
    small: list[str] = page.evaluate(TARGETS)
    assert small == []


TARGETS = """() => {
  const all = "a[href], button, input, select, textarea, summary, [role=button], [tabindex='0']";
  const main = "nav a, button, input:not([type=checkbox]):not([type=radio]), select, summary";
  const shown = (one) => one.checkVisibility({visibilityProperty: true})
    && !one.matches(".skip, .wide, input[type=hidden]");
  const within = (one) => one.matches("a") && getComputedStyle(one).display === "inline"
    && one.parentElement.textContent.trim() !== one.textContent.trim();
  const box = (one) => {
    const boxes = [one, ...(one.labels || [])].map((each) => each.getBoundingClientRect());
    return [Math.max(...boxes.map((each) => each.width)),
            Math.max(...boxes.map((each) => each.height))];
  };
  const found = [];
  for (const one of document.querySelectorAll(all)) {
    if (!shown(one) || within(one)) continue;
    const [width, height] = box(one);
    const least = one.matches(main) ? 44 : 24;
    if (height < least - 0.1 || width < 23.9)
      found.push(`${one.outerHTML.slice(0, 90)}: ${width.toFixed(1)} x ${height.toFixed(1)}`);
  }
  return found.slice(0, 12);
}"""


def test_keys_alone_reach_everything_and_get_out_again(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    """WCAG 2.2 SC 2.1.1, 2.1.2 (no trap), 2.4.1 (skip link), 2.4.7 (focus is seen)."""
    page = opened(example_page("tarn-croft"))
    seen = list(_tabbed(page))
    assert seen[-1] is None, "Tab never came back to the page itself"
    stops = [stop for stop in seen if stop is not None]
    assert stops[0]["classes"] == "skip"
    assert any(stop["tag"] == "INPUT" and stop["part"] == "" for stop in stops), "the find box"
    links = [stop["href"] for stop in stops if stop["nav"]]
    assert links == ["#doors", "#glance", "#pairs", "#pictures", "#provenance"]
    assert [stop["html"] for stop in stops if not stop["marked"]] == []
    assert len({stop["at"] for stop in stops}) == len(stops)


STOP = """() => {
  const one = document.activeElement;
  if (!one || one === document.body || one === document.documentElement) return null;
  const style = getComputedStyle(one);
  return {
    tag: one.tagName,
    classes: one.className.toString(),
    href: one.getAttribute("href"),
    nav: one.closest("header nav") !== null,
    part: (one.closest("main section") || {id: ""}).id,
    marked: style.outlineStyle !== "none" || style.boxShadow !== "none",
    html: one.outerHTML.slice(0, 90),
    at: [...document.querySelectorAll("*")].indexOf(one),
  };
}"""


def _tabbed(page: Page) -> list[dict[str, object] | None]:
    """Where Tab leads from the top, up to the page itself, or as often as it can make sense."""
    most = int(page.evaluate("document.querySelectorAll('body *').length")) + 10
    found: list[dict[str, object] | None] = []
    for _ in range(most):
        page.keyboard.press("Tab")
        found.append(page.evaluate(STOP))
        if found[-1] is None:
            break
    return found


def test_the_skip_link_leads_to_the_pens(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("tarn-croft"), viewport=PHONE)
    page.keyboard.press("Tab")
    assert page.locator(".skip").bounding_box() is not None
    assert page.evaluate("document.activeElement.getBoundingClientRect().left") >= 0
    page.keyboard.press("Enter")
    assert page.url.endswith("#doors")


@pytest.mark.parametrize(("name", "paper"), [("skarn-farm", "A4"), ("holm-fen", "Letter")])
def test_each_pen_is_printed_on_a_page_of_its_own(
    opened: Opener,
    example_page: Callable[[str], Path],
    example_facts: Callable[[str], Facts],
    name: str,
    paper: str,
) -> None:
    sheets = printed(opened(example_page(name)), paper)
    pens = example_facts(name).pens
    assert len(sheets) == len(pens)
    for pen, birds in pens.items():
        assert any(
            stands_in(pen, sheet) and all(stands_in(bird, sheet) for bird in birds)
            for sheet in sheets
        ), f"pen {pen} has no sheet"
