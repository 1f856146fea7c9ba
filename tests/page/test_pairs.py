"""The pairs of the page in a real browser: by mouse, by keys alone, by link, on a phone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import pytest

from matchmaker.pairs.rules import Rule
from matchmaker.report.wording import PAIR_STATES
from tests.page.browsing import PHONE, faults, folder_page, overflow, plain
from tests.page.hostile import HANDLER, HENS, LONG, QUOTES, SCRIPT, hostile_flock
from tests.page_pairs import Carried

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from playwright.sync_api import Page

    from matchmaker.pairs.pair import Pair
    from matchmaker.reporting import SeasonReport
    from tests.page.browsing import Opener

pytestmark = pytest.mark.page

ENTRIES = "#pair-list button.pair-entry"
EXAMPLE = "tarn-croft"
SLOWEST = 500
"""Milliseconds in which a pair has to be open; a tenth of it is usual."""


@pytest.fixture
def season(example_season: Callable[[str], SeasonReport]) -> SeasonReport:
    return example_season(EXAMPLE)


@pytest.fixture
def page(opened: Opener, example_page: Callable[[str], Path]) -> Page:
    return opened(example_page(EXAMPLE))


def shown(page: Page) -> list[str]:
    """The birds, or pairs, that are listed."""
    return page.locator(f"{ENTRIES} .pair-name").all_inner_texts()


def answer(page: Page) -> str:
    return plain(page.inner_text("#pair-answer"))


def focused(page: Page) -> str:
    return str(
        page.evaluate("document.activeElement.querySelector('.pair-name')?.textContent ?? ''")
    )


def choose(page: Page, control: str, value: str) -> None:
    page.locator(f"#pair-{control}").select_option(label=value)


def choose_hen(page: Page, hen: str) -> None:
    options = page.locator("#pair-bird option").all_inner_texts()
    choose(page, "bird", next(one for one in options if one.startswith(f"{hen} (")))


def of_hen(season: SeasonReport, hen: str) -> list[Pair]:
    return [pair for pair in season.table.pairs if pair.hen == hen]


def cocks(pairs: Iterable[Pair]) -> set[str]:
    return {pair.cock for pair in pairs}


def test_it_opens_on_a_hen_with_all_cocks_her_own_first(page: Page, season: SeasonReport) -> None:
    hen = page.locator("#pair-bird").evaluate("(one) => one.selectedOptions[0].textContent")
    band = hen.rpartition(" (")[0]
    own = {pair.cock for pair in season.guide.pens.pairs if pair.hen == band}
    names = shown(page)
    assert names[0] in own
    assert set(names) == cocks(of_hen(season, band))
    assert page.inner_text("#pair-count") == f"All {len(names)} cocks."
    assert not page.locator(".pair-static").is_visible()


def test_a_click_opens_all_that_is_known_of_a_pair(page: Page, season: SeasonReport) -> None:
    carried = Carried.of(season)
    rows = carried.rows()
    for at in range(0, len(carried.mates), 37):
        hen, cock = carried.mates[at]
        choose_hen(page, hen)
        page.locator(ENTRIES).nth(shown(page).index(cock)).click()
        said = answer(page)
        own = [row for key, row in rows.items() if key[:2] == (hen, cock)]
        for row in own:
            for sentence in (*row.rules, *(one for part in row.evidence for one in part), *row.kin):
                assert plain(sentence) in said
        assert plain(own[0].sentence) in said
        cells = page.locator("#pair-answer td").all_inner_texts()
        if len(own) == 1:
            assert cells == [cell for _, *texts in own[0].table for cell in texts]
        assert f"matchmaker why {hen} {cock}" in said


def test_a_pair_of_several_rows_has_a_column_for_each(page: Page, season: SeasonReport) -> None:
    (hen, cock), entries = next(
        (birds, rows) for birds, rows in season.table.by_birds.items() if len(rows) > 1
    )
    page.evaluate("([hen, cock]) => page.openPair(hen, cock)", [hen, cock])
    said = answer(page)
    headings = page.locator("#pair-answer thead th").all_inner_texts()
    for pair in entries:
        assert pair.crossing is not None
        assert f"In the row “{pair.crossing.name}”" in said
        assert f"in “{pair.crossing.name}”" in headings


def test_keys_alone_find_open_and_close_a_pair(page: Page) -> None:
    """WCAG 2.2 SC 2.1.1; keys of a list as in the ARIA practices: arrows, Home, End."""
    names = shown(page)
    page.focus("#pair-search")
    for _ in range(12):
        page.keyboard.press("Tab")
        if focused(page):
            break
    assert focused(page) == names[0]
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    assert focused(page) == names[1]
    page.keyboard.press("End")
    assert focused(page) == names[-1]
    page.keyboard.press("ArrowDown")
    assert focused(page) == names[-1]
    page.keyboard.press("Home")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    assert f"with {names[1]}" in page.inner_text("#pair-answer-title")
    assert f"with {names[1]}" in page.inner_text("#pair-said")
    assert focused(page) == names[1]
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('#pair-answer') !== null")
    page.keyboard.press("Escape")
    assert page.inner_text("#pair-answer-title") == "No pair is open"
    assert focused(page) == names[1]
    page.keyboard.press("/")
    assert page.evaluate("document.activeElement.id") == "pair-search"
    page.keyboard.type("/")
    assert page.input_value("#pair-search") == "/"


def test_one_entry_of_the_list_can_be_tabbed_to(page: Page) -> None:
    assert page.locator(f'{ENTRIES}[tabindex="0"]').count() == 1
    page.locator(ENTRIES).nth(2).click()
    assert page.locator(f'{ENTRIES}[tabindex="0"]').count() == 1
    assert page.locator(f'{ENTRIES}[aria-pressed="true"]').count() == 1


def test_filters_leave_what_python_leaves(page: Page, season: SeasonReport) -> None:
    hens = sorted({pair.hen for pair in season.table.pairs})[::5]
    lines = {bird.band: bird.line for bird in season.table.study.flock.birds}
    stands = {pair.key for pair in season.guide.pens.pairs}
    page.locator("details.pair-filters summary").click()
    for hen in hens:
        choose_hen(page, hen)
        own = of_hen(season, hen)
        choose(page, "state", "rejected")
        assert set(shown(page)) == cocks(
            one for one in own if not one.allowed and one.key not in stands
        )
        choose(page, "state", "could pair")
        assert set(shown(page)) == cocks(
            one for one in own if one.allowed and one.key not in stands
        )
        choose(page, "state", "any")
        choose(page, "rule", PAIR_STATES[Rule.TOO_RELATED])
        assert set(shown(page)) == cocks(
            one for one in own if any(rule.rule is Rule.TOO_RELATED for rule in one.broken)
        )
        choose(page, "rule", "any reason")
        for line in sorted({lines[pair.cock] for pair in own})[:2]:
            choose(page, "line", line)
            assert set(shown(page)) == cocks(one for one in own if lines[one.cock] == line)
        choose(page, "line", "any line")
        page.fill("#pair-kin-from", "0.01")
        page.fill("#pair-kin-to", "0.125")
        left = cocks(one for one in own if 0.01 <= round(one.kinship, 3) <= 0.125)
        assert set(shown(page)) == left
        assert page.inner_text("#pair-count").startswith(f"{len(left)} of {len(cocks(own))} cocks")
        assert "(2 set)" in page.inner_text("details.pair-filters summary")
        page.click("#pair-all")
        assert set(shown(page)) == cocks(own)


def test_search_goes_over_all_pairs(page: Page, season: SeasonReport) -> None:
    (hen, cock) = sorted(season.table.by_birds)[len(season.table.by_birds) // 2]
    page.fill("#pair-search", f"{hen} {cock}")
    assert f"{hen} with {cock}" in shown(page)
    page.fill("#pair-search", cock)
    his = [birds for birds in season.table.by_birds if cock in birds[1]]
    assert page.inner_text("#pair-count") == f"{len(his)} of {len(season.table.by_birds)} pairs."
    page.fill("#pair-search", "no such band")
    assert page.inner_text("#pair-count").startswith("0 of ")
    assert shown(page) == []


def test_on_a_wide_screen_the_first_of_the_list_lies_open_beside_it(
    opened: Opener, example_page: Callable[[str], Path], season: SeasonReport
) -> None:
    page = opened(example_page(EXAMPLE))
    before = page.url
    assert f"with {shown(page)[0]}: paired" in page.inner_text("#pair-answer-title")
    assert page.evaluate("document.activeElement === document.body")
    for hen in (season.guide.pens.hens[0], season.table.pairs[-1].hen):
        line = season.table.study.flock.by_band()[hen].line
        choose(page, "bird", f"{hen} ({line})")
        assert page.evaluate("document.activeElement.id") != "pair-answer-title"
        title = page.inner_text("#pair-answer-title")
        assert title.startswith(f"{hen} with {shown(page)[0]}: ")
        pressed = page.locator(f'{ENTRIES}[aria-pressed="true"] .pair-name')
        assert pressed.all_inner_texts() == shown(page)[:1]
        assert page.inner_text("#pair-said") == ""
    assert page.url == before


def test_on_a_phone_the_list_of_a_bird_stays_in_sight(
    opened: Opener, example_page: Callable[[str], Path], season: SeasonReport
) -> None:
    page = opened(example_page(EXAMPLE), viewport=PHONE)
    assert page.locator("#pair-list").is_visible()
    page.evaluate("(band) => page.openBird(band)", season.table.pairs[-1].hen)
    assert page.locator("#pair-list").is_visible()
    assert not page.locator("#pair-answer").is_visible()


def test_a_bird_that_is_found_takes_the_place_of_the_pair_in_the_address(
    page: Page, season: SeasonReport
) -> None:
    page.locator(ENTRIES).nth(1).click()
    assert "#pair=" in page.url
    page.evaluate("(band) => page.openBird(band)", season.table.pairs[-1].hen)
    assert "#pair=" not in page.url


def test_a_cock_has_his_hens(page: Page, season: SeasonReport) -> None:
    page.get_by_role("radio", name="his hens").check()
    label = page.locator("#pair-bird").evaluate("(one) => one.selectedOptions[0].textContent")
    cock = label.rpartition(" (")[0]
    assert set(shown(page)) == {pair.hen for pair in season.table.pairs if pair.cock == cock}
    page.locator(ENTRIES).first.click()
    page.get_by_role("button", name="All cocks with").click()
    assert page.get_by_role("radio", name="her cocks").is_checked()
    assert focused(page) == cock


def test_a_link_opens_its_pair_and_back_leads_back(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page(EXAMPLE))
    names = shown(page)
    page.locator(ENTRIES).nth(1).click()
    first = page.url
    page.locator(ENTRIES).nth(2).click()
    assert first != page.url
    page.go_back()
    page.wait_for_function(
        f"document.getElementById('pair-answer-title').textContent.includes({names[1]!r})"
    )
    page.go_back()
    page.wait_for_function(
        f"document.getElementById('pair-answer-title').textContent.includes({names[0]!r})"
    )
    page.goto("about:blank")
    page.goto(first)
    assert names[1] in page.inner_text("#pair-answer-title")
    assert focused(page) == names[1]


def test_names_that_look_like_markup_open_by_link_and_by_search(
    opened: Opener, tmp_path: Path
) -> None:
    page = opened(folder_page(hostile_flock(tmp_path / "flock")))
    for hen, cock in ((HENS[0], SCRIPT), (HANDLER, QUOTES), (HENS[3], LONG), ("__proto__", SCRIPT)):
        page.evaluate("(to) => { location.hash = to; }", f"pair={quote(hen, '')}/{quote(cock, '')}")
        page.wait_for_function(
            "(text) => document.getElementById('pair-answer-title').textContent.startsWith(text)",
            arg=f"{hen} with {cock}: ",
        )
    page.evaluate("location.hash = 'pair=%E0%A4%A/nobody'")
    page.evaluate("location.hash = 'pair=nobody/nowhere'")
    page.wait_for_function("document.getElementById('pair-said').textContent.startsWith('No pair')")
    page.fill("#pair-search", QUOTES)
    assert shown(page)
    assert all(QUOTES in name for name in shown(page))
    assert overflow(page) == []


def test_on_a_phone_the_answer_takes_the_place_of_the_list(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page(EXAMPLE), viewport=PHONE)
    page.locator(ENTRIES).nth(5).click()
    assert not page.locator("#pair-list").is_visible()
    assert page.evaluate("document.activeElement.id") == "pair-answer-title"
    assert overflow(page) == []
    assert not faults(page, "#pair-explorer")
    page.get_by_role("button", name="Back to the list").click()
    assert page.locator("#pair-list").is_visible()
    assert not page.locator("#pair-answer").is_visible()
    assert focused(page) == shown(page)[5]
    assert overflow(page) == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_axe_finds_nothing_in_an_open_pair(
    opened: Opener, example_page: Callable[[str], Path], *, dark: bool
) -> None:
    page = opened(example_page(EXAMPLE), dark=dark)
    page.locator(ENTRIES).last.click()
    assert not faults(page, "#pair-explorer")


def test_without_scripts_the_lists_are_there(
    opened: Opener, example_page: Callable[[str], Path], season: SeasonReport
) -> None:
    page = opened(example_page(EXAMPLE), scripts=False)
    assert not page.locator("#pair-explorer").is_visible()
    lists = page.locator(".pair-static details")
    assert lists.count() == len({pair.hen for pair in season.table.pairs})
    lists.first.locator("summary").click()
    assert lists.first.locator("li").first.is_visible()


def test_other_parts_may_open_a_pair_and_draw_it(page: Page, season: SeasonReport) -> None:
    """What ``page`` offers: ``openPair`` and ``openBird``; it calls ``drawKin``."""
    rows = Carried.of(season).rows()
    hen, cock = next(key[:2] for key, row in rows.items() if len(row.kin) > 1)
    page.evaluate(DRAWN)
    assert page.evaluate("([hen, cock]) => page.openPair(hen, cock)", [hen, cock]) is True
    assert page.inner_text("#pair-answer .pair-drawing") == f"{hen} and {cock}"
    assert page.evaluate("page.openPair('nobody', 'nowhere')") is False
    page.evaluate("void (page.openFamily = (band) => { window.asked = band; })")
    assert page.evaluate("([hen, cock]) => page.openPair(hen, cock)", [hen, cock]) is True
    page.get_by_role("button", name=f"Pedigree of {cock}").click()
    assert page.evaluate("window.asked") == cock
    assert page.evaluate("(band) => page.openBird(band)", hen) is True
    assert page.inner_text("#pair-list-title") == f"Her cocks: {hen}"
    assert page.evaluate("(band) => page.openBird(band)", cock) is True
    assert page.inner_text("#pair-list-title") == f"His hens: {cock}"


DRAWN = "void (page.drawKin = (into, hen, cock) => into.append(`${hen} and ${cock}`))"


def test_the_find_box_leads_to_birds(page: Page, season: SeasonReport) -> None:
    page.evaluate("void (page.openFamily = (band) => { window.asked = band; })")
    hen = season.table.pairs[0].hen
    box = page.locator("#find-bird")
    box.fill(hen.lower())
    box.press("Enter")
    assert page.inner_text("#pair-list-title") == f"Her cocks: {hen}"
    breeders = {band for pair in season.table.pairs for band in (pair.hen, pair.cock)}
    gone = next(one for one in season.table.study.flock.birds if one.band not in breeders)
    box.fill(gone.band)
    box.press("Enter")
    assert page.evaluate("window.asked") == gone.band
    assert gone.band in page.inner_text("form.find output")
    known = set(
        page.locator("#all-birds option").evaluate_all("(all) => all.map((one) => one.value)")
    )
    assert known == {bird.band for bird in season.table.study.flock.birds}


def test_the_find_box_helps_with_a_band_that_is_not_there(page: Page, season: SeasonReport) -> None:
    hen = season.table.pairs[0].hen
    box = page.locator("#find-bird")
    box.fill(f"{hen}7")
    box.press("Enter")
    said = page.locator("form.find output")
    assert plain(said.inner_text()).startswith(f"No bird {hen}7. Did you mean ")
    said.get_by_role("button", name=hen, exact=True).click()
    assert page.inner_text("#pair-list-title") == f"Her cocks: {hen}"
    box.fill("§§§§§§§§§§§§§§")
    box.press("Enter")
    assert "no band like it" in said.inner_text()
    box.fill("")
    box.press("Enter")
    assert said.inner_text() == "Type a band."


def test_a_pair_opens_at_once(opened: Opener, example_page: Callable[[str], Path]) -> None:
    page = opened(example_page("holm-fen"))
    times: list[float] = page.evaluate(CLICKED)
    print(f"\nopened in {min(times):.0f} to {max(times):.0f} ms")  # noqa: T201
    assert max(times) < SLOWEST, times


CLICKED = """() => [...document.querySelectorAll('#pair-list button.pair-entry')].map((one) => {
  const begun = performance.now();
  one.click();
  document.body.getBoundingClientRect();
  return performance.now() - begun;
})"""


def test_the_data_arrive_as_they_were_made(page: Page, season: SeasonReport) -> None:
    found: dict[str, Any] = page.evaluate("page.data('pairs')")
    made = Carried.of(season).data
    assert found["texts"] == made["texts"]
    assert len(found["pairs"]) == len(season.table.by_birds)
