"""Maps of kinship in a browser: colours, look-up, keys, dark mode, and axe-core."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.report.numbers import kinship_text
from matchmaker.report.page.kin_steps import step_of
from matchmaker.report.page.page import page_html
from tests.page.browsing import DESKTOP, PHONE, faults, overflow
from tests.page.flocks import crowded_flock
from tests.page.hostile import BANDS, LINE, hostile_flock
from tests.page_drawings import quick_report

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from playwright.sync_api import Locator, Page, ViewportSize

    from matchmaker.reporting import SeasonReport
    from tests.page.browsing import Opener

pytestmark = pytest.mark.page

LIVING = "figure[data-kin=living]"
OVERVIEW = "figure[data-kin=overview]"

PIXELS = """(canvas, [places, edge, many]) => {
  const width = (parseFloat(canvas.style.width) - edge) / many;
  const sharp = canvas.width / parseFloat(canvas.style.width);
  const all = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
  const at = (place) => Math.floor((edge + (place + 0.5) * width) * sharp);
  return places.map(([row, column]) => {
    const from = 4 * (at(row) * canvas.width + at(column));
    const parts = [...all.slice(from, from + 3)].map((one) => one.toString(16).padStart(2, "0"));
    return "#" + parts.join("");
  });
}"""
"""The colours in the middle of some cells, by the size that the drawing has."""

EDGE = 20
"""Pixels left and above the cells, for the names of lines."""


@pytest.fixture(scope="module")
def crowd(tmp_path_factory: pytest.TempPathFactory) -> SeasonReport:
    """More than 60 birds, so that both maps are drawn."""
    return quick_report(verbs.pairs(crowded_flock(tmp_path_factory.mktemp("crowd"), 72, 8)))


@pytest.fixture(scope="module")
def crowd_page(crowd: SeasonReport) -> str:
    return page_html(crowd)


def birds_of(report: SeasonReport) -> list[str]:
    """The living birds as the map has them: by line, then band."""
    return [b.band for b in sorted(report.table.study.flock.living, key=lambda b: (b.line, b.band))]


def token(page: Page, name: str) -> str:
    """A colour of the page as it is at the moment."""
    found: str = page.evaluate(
        "(name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim()", name
    )
    return found


def pixels(figure: Locator, places: Sequence[tuple[int, int]], many: int) -> list[str]:
    """The colours of some cells of a square map; asked once a page: browsers complain of more."""
    found: list[str] = figure.locator("canvas").evaluate(PIXELS, [places, EDGE, many])
    return found


def some_of_every_step(report: SeasonReport) -> dict[tuple[int, int], int]:
    """Cells of the map of living birds, nine at most of each step, with their steps."""
    birds, kinship = birds_of(report), report.table.study.kinship
    found: dict[int, list[tuple[int, int]]] = {}
    for row in range(2, len(birds)):
        for column in range(row + 1, len(birds), 3):
            step = step_of(kinship.between(birds[row], birds[column]))
            found.setdefault(step, []).append((row, column))
    return {
        place: step for step, places in found.items() for place in places[:: len(places) // 8 + 1]
    }


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("viewport", [DESKTOP, PHONE], ids=["1280", "360"])
def test_cells_have_the_colour_of_their_step(
    opened: Opener, crowd: SeasonReport, crowd_page: str, viewport: ViewportSize, *, dark: bool
) -> None:
    page = opened(crowd_page, viewport=viewport, dark=dark)
    asked = some_of_every_step(crowd)
    assert len(set(asked.values())) > 2, "the cells looked at should differ"
    found = pixels(page.locator(LIVING), list(asked), len(birds_of(crowd)))
    assert found == [token(page, f"--kin-{step}") for step in asked.values()]
    assert overflow(page) == []


def test_the_drawing_follows_the_light(
    opened: Opener, crowd: SeasonReport, crowd_page: str
) -> None:
    page = opened(crowd_page, dark=True)
    before = token(page, "--kin-0")
    page.emulate_media(color_scheme="light")
    asked = some_of_every_step(crowd)
    found = pixels(page.locator(LIVING), list(asked), len(birds_of(crowd)))
    assert found == [token(page, f"--kin-{step}") for step in asked.values()]
    assert before not in found


def test_typing_two_bands_tells_their_kinship(
    opened: Opener, crowd: SeasonReport, crowd_page: str
) -> None:
    page = opened(crowd_page)
    figure, birds = page.locator(LIVING), birds_of(crowd)
    output = figure.locator("output")
    assert output.get_attribute("aria-live") == "polite"
    row, column = figure.locator("input").all()
    kinship = crowd.table.study.kinship
    for one, other in ((birds[0], birds[7]), (birds[3].lower(), birds[60]), (birds[12], birds[79])):
        row.fill(one)
        column.fill(other)
        column.press("Tab")
        told = kinship_text(kinship.between(one.upper(), other))
        assert output.inner_text() == f"{one.upper()} with {other}: kinship {told}"
    row.fill("nobody")
    row.press("Tab")
    assert output.inner_text() == "No bird on this map is called nobody."


def test_arrow_keys_walk_the_drawing(opened: Opener, crowd: SeasonReport, crowd_page: str) -> None:
    page = opened(crowd_page)
    figure, birds = page.locator(LIVING), birds_of(crowd)
    box, output = figure.locator(".kin-drawing"), figure.locator("output")
    box.focus()
    for key in ("ArrowRight", "ArrowRight", "ArrowDown", "ArrowRight"):
        page.keyboard.press(key)
    assert output.inner_text().startswith(f"{birds[1]} with {birds[3]}: kinship")
    page.keyboard.press("End")
    assert output.inner_text().startswith(f"{birds[1]} with {birds[-1]}: kinship")
    page.keyboard.press("ArrowRight")
    assert output.inner_text().startswith(f"{birds[1]} with {birds[-1]}: kinship")
    page.keyboard.press("Home")
    assert output.inner_text().startswith(f"{birds[1]} is one bird") is False
    assert [one.input_value() for one in figure.locator("input").all()] == [birds[1], birds[0]]


def test_pointing_at_a_cell_of_the_drawing_opens_the_pair(
    opened: Opener, crowd: SeasonReport, crowd_page: str
) -> None:
    page = opened(crowd_page)
    figure = page.locator(OVERVIEW)
    page.evaluate("page.openPair = (hen, cock) => { page.asked = [hen, cock]; }")
    width = figure.locator("canvas").evaluate("(one) => parseFloat(one.style.width)")
    size = (width - EDGE) / 8
    figure.locator("canvas").click(position={"x": EDGE + 2.5 * size, "y": EDGE + 4.5 * size})
    hen, cock = page.evaluate("page.asked")
    assert figure.locator("output").inner_text().startswith(f"{hen} with {cock}: kinship")
    told = kinship_text(crowd.table.study.kinship.between(hen, cock))
    assert f"kinship {told}" in figure.locator("output").inner_text()


def test_the_table_is_one_stop_for_keys(
    opened: Opener,
    example_page: Callable[[str], Path],
    example_season: Callable[[str], SeasonReport],
) -> None:
    page = opened(example_page("tarn-croft"))
    kinship = example_season("tarn-croft").table.study.kinship
    figure = page.locator(OVERVIEW)
    assert figure.locator(".kin-table [tabindex='0']").count() == 1
    page.evaluate("page.openPair = (hen, cock) => { page.asked = [hen, cock]; }")
    figure.locator(".kin-table [tabindex='0']").focus()
    for key in ("ArrowDown", "ArrowDown", "ArrowRight"):
        page.keyboard.press(key)
    assert figure.locator(".kin-table [tabindex='0']").count() == 1
    hens = figure.locator("tbody th[scope=row]").all_inner_texts()
    cocks = figure.locator("thead th[scope=col]").all_inner_texts()
    told = f"{hens[2]} with {cocks[1]}: kinship {kinship_text(kinship.between(hens[2], cocks[1]))}"
    assert figure.locator("output").inner_text().startswith(told)
    page.keyboard.press("Enter")
    assert page.evaluate("page.asked") == [hens[2], cocks[1]]


def test_without_scripts_the_numbers_are_there(opened: Opener, crowd_page: str) -> None:
    page = opened(crowd_page, scripts=False)
    figure = page.locator(LIVING)
    assert figure.locator(".kin-drawing").is_hidden()
    assert figure.locator(".kin-ask").is_hidden()
    figure.locator("summary").click()
    assert figure.locator("table").count() == 2
    assert figure.locator("table").first.is_visible()


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_axe_finds_nothing_in_the_drawn_maps(
    opened: Opener, crowd_page: str, *, dark: bool
) -> None:
    page = opened(crowd_page, viewport=PHONE, dark=dark, bypass_csp=True)
    assert not faults(page)


def test_hostile_names_stand_in_the_pictures_as_they_are(opened: Opener, tmp_path: Path) -> None:
    page = opened(page_html(quick_report(verbs.pairs(hostile_flock(tmp_path)))), viewport=PHONE)
    figure = page.locator(OVERVIEW)
    heads = figure.locator(".kin-table th[scope=row], .kin-table th[scope=col]").all_text_contents()
    assert sorted(heads) == sorted(BANDS)
    assert LINE in figure.locator("th[scope=colgroup], th[scope=rowgroup]").all_text_contents()
    row, column = figure.locator("input").all()
    for hen, cock in zip(BANDS[3:], BANDS[:3] * 4, strict=True):
        row.fill(hen)
        column.fill(cock)
        column.press("Tab")
        assert (figure.locator("output").text_content() or "").startswith(
            f"{hen} with {cock}: kinship"
        )
    assert page.locator("hostile-name").count() == 0
    assert overflow(page) == []


def test_drawings_are_told_to_those_who_do_not_see_them(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("tarn-croft"))
    drawings = page.locator("#pictures svg[role=img]")
    assert drawings.count() >= 4
    for drawing in drawings.all():
        names = (drawing.get_attribute("aria-labelledby") or "").split()
        assert all(page.locator(f"[id='{name}']").text_content() for name in names)
        box = drawing.bounding_box()
        assert box is not None
        assert box["width"] > 200
