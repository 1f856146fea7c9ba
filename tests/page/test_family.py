"""Pedigrees on the page: what is drawn of a bird and of a pair, and that anyone can read it.

Squares for males and circles for females follow the pedigree standard of human genetics (Bennett
et al. 2008, J Genet Couns 17:424, from memory); here a box with square or with round corners.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tests.page.browsing import PHONE, TWO, Opener, faults, folder_page, overflow
from tests.page.hostile import BANDS, hostile_flock

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from playwright.sync_api import Page

pytestmark = pytest.mark.page

BOXES = """(inside) => [...document.querySelectorAll(`${inside} .family-bird`)].map((box) => {
  const frame = box.querySelector(".family-box");
  return {
    band: [...box.querySelectorAll(".family-band")].map((one) => one.textContent).join(""),
    lines: [...box.querySelectorAll(".family-small")].map((one) => one.textContent),
    ring: box.querySelectorAll(".family-ring").length,
    round: Number(frame.getAttribute("rx")),
    top: frame.getBoundingClientRect().top,
    bottom: frame.getBoundingClientRect().bottom,
    left: frame.getBoundingClientRect().left,
    right: frame.getBoundingClientRect().right,
  };
})"""

DRAW_KIN = """([hen, cock]) => {
  let place = document.getElementById("kin-here");
  if (!place) {
    place = document.createElement("div");
    place.id = "kin-here";
    document.querySelector("main").append(place);
  }
  page.drawKin(place, hen, cock);
}"""

ALL_PAIRS = """() => {
  const [kin, birds] = [page.data("kin"), page.data("birds").birds];
  return kin.hens.flatMap((hen, row) => kin.cocks.map((cock, column) => [
    birds[hen][0], birds[cock][0],
    (kin.lists[kin.pairs[row][column]].length - 2) / 3,
    kin.texts[kin.kinship[row][column]],
  ]));
}"""


def boxes(page: Page, inside: str = "#family-picture") -> dict[str, dict[str, Any]]:
    """The boxes drawn, by band; each band stands in one box only."""
    found = page.evaluate(BOXES, inside)
    assert len({box["band"] for box in found}) == len(found)
    return {box["band"]: box for box in found}


def look_up(page: Page, band: str, generations: int = 4) -> None:
    page.select_option("#family-depth", str(generations))
    page.fill("#family-bird", band)
    page.click("#family-form button")


@pytest.mark.parametrize("name", TWO)
def test_it_begins_with_a_bird_and_its_forebears(
    opened: Opener, example_page: Callable[[str], Path], name: str
) -> None:
    page = opened(example_page(name))
    band = page.input_value("#family-bird")
    found = boxes(page)
    assert len(found) > 2
    assert found[band]["top"] == max(box["top"] for box in found.values())
    label = page.get_attribute("#family-picture svg", "aria-label")
    assert label
    assert label.startswith(f"Pedigree of {band}:")
    assert page.get_attribute("#family-picture svg", "role") == "img"


def test_a_forebear_on_both_sides_is_drawn_once_and_named(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("holm-fen"))
    look_up(page, "B26-014")
    found = boxes(page)
    assert [band for band, box in found.items() if box["ring"]] == ["S22-007"]
    assert "on both sides" in found["S22-007"]["lines"]
    assert "S22-007 stands on both sides" in page.inner_text("#family-says")


def test_a_sire_that_is_one_of_two_is_dashed_with_his_chance(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("holm-fen"))
    look_up(page, "B26-014")
    assert {"S25-005", "S24-015"} <= set(boxes(page))
    assert page.locator("#family-picture .family-dashed").count() == 2
    assert page.locator("#family-picture .family-label", has_text="50 %").count() == 2


def test_the_way_of_the_allele_is_thick_and_told(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("holm-fen"))
    look_up(page, "B26-014")
    assert page.locator("#family-picture .family-way").count() == 3
    words = page.inner_text("#family-says")
    assert "through B25-011 and B24-004 from X22-002 (Araucana founder from Tofts)" in words
    assert "carries" in boxes(page)["X22-002"]["lines"][-1]


def test_another_locus_has_another_way(opened: Opener, example_page: Callable[[str], Path]) -> None:
    page = opened(example_page("holm-fen"))
    page.select_option("#family-locus", label="Pea comb")
    assert "pea comb (to be bred out)" in page.inner_text("#family-says")


def test_cocks_have_square_corners_and_hens_round_ones(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("holm-fen"))
    look_up(page, "B26-014")
    for box in boxes(page).values():
        sex = box["lines"][0].split(",")[0]
        assert (box["round"] == 0) == (sex == "cock"), box
        assert (box["round"] > 10) == (sex == "hen"), box


@pytest.mark.parametrize("name", ["holm-fen"])
def test_no_box_covers_another_at_any_depth(
    opened: Opener, example_page: Callable[[str], Path], name: str
) -> None:
    page = opened(example_page(name))
    bands = page.evaluate("page.data('birds').birds.map((bird) => bird[0])")
    for band in bands[-8:]:
        look_up(page, band, 6)
        found = list(boxes(page).values())
        for at, one in enumerate(found):
            for two in found[at + 1 :]:
                apart = one["right"] < two["left"] or two["right"] < one["left"]
                assert apart or one["bottom"] < two["top"] or two["bottom"] < one["top"]


def test_a_bird_that_is_not_there_is_said_and_nothing_lost(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("holm-fen"))
    before = set(boxes(page))
    look_up(page, "C25-00")
    assert "There is no bird C25-00. Did you mean C25-001" in page.inner_text("#family-note")
    assert page.input_value("#family-bird") == "C25-00"
    assert set(boxes(page)) == before
    look_up(page, "")
    assert page.inner_text("#family-note") == "Type a band first."


def test_a_band_is_found_in_either_case(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("holm-fen"))
    look_up(page, " b26-014 ")
    assert page.input_value("#family-bird") == "B26-014"
    assert page.inner_text("#family-note") == ""


def test_the_table_holds_what_the_picture_shows(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("holm-fen"))
    look_up(page, "B26-014", 3)
    page.click(".family-more summary")
    rows = page.locator("#family-table tbody th").all_inner_texts()
    assert set(rows) == set(boxes(page)) - {"B26-014"}
    assert "dam's sire" in page.inner_text("#family-table")


@pytest.mark.parametrize("name", TWO)
def test_every_pair_can_be_drawn(
    opened: Opener, example_page: Callable[[str], Path], name: str
) -> None:
    page = opened(example_page(name))
    pairs = page.evaluate(ALL_PAIRS)
    for hen, cock, paths, kinship in pairs[:: max(1, len(pairs) // 25)]:
        page.evaluate(DRAW_KIN, [hen, cock])
        words = page.inner_text("#kin-here")
        assert f"Kinship {kinship}" in words
        if not paths:
            assert "no common forebear on record" in words
            continue
        found = boxes(page, "#kin-here")
        assert {hen, cock, "their chicks"} <= set(found)
        marked = [band for band, box in found.items() if box["ring"]]
        assert marked
        assert all("common forebear" in found[band]["lines"] for band in marked)
        assert page.locator("#kin-here li b:first-child").count() == paths


def test_birds_that_are_no_pair_are_said_to_be_none(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("tarn-croft"))
    page.evaluate(DRAW_KIN, ["nobody", "H24-006"])
    assert "no pair of this season" in page.inner_text("#kin-here")


def test_names_of_any_kind_stay_as_they_are(opened: Opener, tmp_path: Path) -> None:
    page = opened(folder_page(hostile_flock(tmp_path / "flock")))
    for band in BANDS:
        assert page.evaluate("(band) => page.openFamily(band)", band)
        assert band.replace(" ", "") in {one.replace(" ", "") for one in boxes(page)}
        assert f"Pedigree of {band}:" in (
            page.get_attribute("#family-picture svg", "aria-label") or ""
        )
    for hen, cock, *_ in page.evaluate(ALL_PAIRS):
        page.evaluate(DRAW_KIN, [hen, cock])
        assert page.locator("#kin-here script, #kin-here img, hostile-name").count() == 0


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_it_fits_a_phone_and_is_readable(
    opened: Opener, example_page: Callable[[str], Path], *, dark: bool
) -> None:
    """Letters of 12 px and more; axe-core finds no fault (contrast, names, focus)."""
    page = opened(example_page("holm-fen"), viewport=PHONE, dark=dark, bypass_csp=True)
    page.click(".family-more summary")
    page.evaluate(DRAW_KIN, ["B26-014", "C26-002"])
    assert overflow(page) == []
    assert faults(page, "#pictures") == []
    sizes = page.evaluate(
        "[...document.querySelectorAll('.family-picture text')].map((one) =>"
        " parseFloat(getComputedStyle(one).fontSize))"
    )
    assert min(sizes) >= 12


def test_without_scripts_it_says_what_to_do(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("tarn-croft"), scripts=False)
    assert "matchmaker flock BIRD" in page.inner_text("#pictures")
    assert not page.locator("#family-form").is_visible()
