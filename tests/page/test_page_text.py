"""What the page says: all of it without scripts too, and every name as the keeper writes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest

from matchmaker.report.page.page import page_html
from tests.page.browsing import (
    PHONE,
    TWO,
    Facts,
    Reason,
    faults,
    folder_page,
    folder_report,
    overflow,
    plain,
    printed,
    stands_in,
    unfold,
    words,
)
from tests.page.flocks import UNUSUAL
from tests.page.hostile import BANDS, LINE, PEN, REASON, hostile_flock

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from playwright.sync_api import Dialog, Page

    from tests.page.browsing import Opener

pytestmark = pytest.mark.page


@pytest.mark.parametrize("name", TWO)
def test_without_scripts_every_pen_is_there_with_its_birds(
    opened: Opener,
    example_page: Callable[[str], Path],
    example_facts: Callable[[str], Facts],
    name: str,
) -> None:
    said = words(opened(example_page(name), scripts=False)).casefold()
    pens = example_facts(name).pens
    names = {f"Pen {pen}" for pen in pens} | {bird for birds in pens.values() for bird in birds}
    assert sorted(name for name in names if not stands_in(name.casefold(), said)) == []


@pytest.mark.parametrize("name", TWO)
def test_without_scripts_every_rejected_pair_has_its_reason(
    opened: Opener,
    example_page: Callable[[str], Path],
    example_facts: Callable[[str], Facts],
    name: str,
) -> None:
    told = Told.on(opened(example_page(name), scripts=False))
    rejected = example_facts(name).rejected
    assert rejected
    assert [pair for pair, why in rejected.items() if not any(map(told.says, why))] == []


PARTS = """() => {
  const titles = (one) => {
    const found = [];
    for (let up = one; up; up = up.parentElement)
      for (const child of up.children)
        if (child.matches("summary, h2, h3, h4, h5, caption, thead") && child !== one)
          found.push(child.innerText);
    return found.join(" ");
  };
  return [...document.querySelectorAll("li, tr, p, dd")]
    .filter((one) => !one.querySelector("li, tr, p, dd") && one.checkVisibility())
    .map((one) => titles(one) + " " + one.innerText);
}"""
"""Sentences, lines and rows, each with the titles that it stands under."""


@dataclass(frozen=True, slots=True)
class Told:
    """What can be read of birds: each sentence, line or row with the titles above it."""

    parts: tuple[str, ...]
    of_bird: dict[str, frozenset[int]]

    @classmethod
    def on(cls, page: Page) -> Told:
        """What a page says once everything is unfolded."""
        unfold(page)
        return cls(tuple(plain(part) for part in page.evaluate(PARTS)), {})

    def says(self, why: Reason) -> bool:
        """Whether a rule is told of its birds, by its name or in its sentence."""
        places = frozenset.intersection(*(self._of(bird) for bird in why.birds))
        names = [plain(text).casefold() for text in (why.name, why.sentence)]
        return any(name in self.parts[at].casefold() for at in places for name in names)

    def _of(self, bird: str) -> frozenset[int]:
        if bird not in self.of_bird:
            self.of_bird[bird] = frozenset(
                at for at, part in enumerate(self.parts) if stands_in(bird, part)
            )
        return self.of_bird[bird]


@pytest.mark.parametrize(
    ("hen", "text", "told"),
    [
        ("A1", "C1: kept apart", True),
        ("A1", "C1: Too closely related", True),
        ("A1", "C1: could be", False),
        ("A1", "C12: kept apart", False),
        ("A11", "C1: kept apart", False),
    ],
)
def test_a_missing_reason_is_missed(opened: Opener, hen: str, text: str, *, told: bool) -> None:
    why = Reason(birds=["A1", "C1"], name="too closely related", sentence="kept apart")
    body = f"<details><summary>{hen}</summary><ul><li>C2<li>{text}</ul></details>"
    page = opened(f"<!doctype html><title>t</title>{body}", scripts=False)
    assert Told.on(page).says(why) is told


@pytest.fixture(scope="module")
def hostile_page(tmp_path_factory: pytest.TempPathFactory) -> str:
    return folder_page(hostile_flock(tmp_path_factory.mktemp("hostile")))


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no-scripts"])
def test_hostile_names_arrive_as_they_are_written(
    opened: Opener, hostile_page: str, *, scripts: bool
) -> None:
    page = opened(hostile_page, scripts=scripts)
    said = words(page)
    names = [*BANDS, LINE, PEN] if scripts else [*BANDS, LINE, PEN, REASON]
    assert [name for name in names if plain(name) not in said] == []
    assert page.locator("hostile-name").count() == 0
    assert page.locator("img[src=x]").count() == 0


def test_hostile_names_break_nothing_when_everything_is_pressed(
    opened: Opener, hostile_page: str
) -> None:
    page = opened(hostile_page, viewport=PHONE)
    asked: list[str] = []

    def dismiss(dialog: Dialog) -> None:
        asked.append(dialog.message)
        dialog.dismiss()

    page.on("dialog", dismiss)
    press_everything(page)
    for band in BANDS:
        find(page, band)
    assert asked == []
    assert page.locator("hostile-name").count() == 0
    assert page.locator("img[src=x]").count() == 0
    assert overflow(page) == []
    assert faults(page) == []


@pytest.mark.parametrize("name", TWO)
def test_everything_can_be_pressed(
    opened: Opener, example_page: Callable[[str], Path], name: str
) -> None:
    page = opened(example_page(name))
    assert press_everything(page) > 10
    assert overflow(page) == []


PRESS_ALL = """() => {
  window.print = () => undefined;
  const told = (one, ...names) =>
    names.forEach((name) => one.dispatchEvent(new Event(name, {bubbles: true})));
  const all = "select, input, button, summary, svg [tabindex='0']";
  let pressed = 0;
  for (const one of [...document.querySelectorAll("main")].flatMap(
      (main) => [...main.querySelectorAll(all)]).slice(0, 200)) {
    if (!one.isConnected || !one.checkVisibility() || one.disabled) continue;
    pressed += 1;
    if (one.matches("select")) {
      const last = one.options.length - 1;
      for (const at of new Set([0, Math.min(1, last), last])) {
        one.selectedIndex = at;
        told(one, "input", "change");
      }
    } else if (one.matches("[type=search], [type=text], [type=number], [type=range]")) {
      for (const text of [one.matches("[type=number], [type=range]") ? "0" : "a", ""]) {
        one.value = text;
        told(one, "input", "change");
      }
    } else one.dispatchEvent(new MouseEvent("click", {bubbles: true, cancelable: true}));
  }
  return pressed;
}"""


def press_everything(page: Page) -> int:
    """Choose each choice, tick each box, press each button, type into each field; how many."""
    pressed: int = page.evaluate(PRESS_ALL)
    return pressed


def find(page: Page, band: str) -> None:
    """Type a band into the find box and ask for it."""
    box = page.locator("header input").first
    box.fill(band)
    box.press("Enter")


@pytest.mark.parametrize("name", UNUSUAL)
def test_unusual_flocks_have_a_page_too(opened: Opener, tmp_path: Path, name: str) -> None:
    report = folder_report(UNUSUAL[name](tmp_path / "flock"))
    page = opened(page_html(report), viewport=PHONE)
    assert overflow(page) == []
    assert len(printed(page)) == len(Facts.of(report).pens)
    press_everything(page)
    assert overflow(page) == []
