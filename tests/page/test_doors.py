"""The pen sheets on paper and on a screen: one page each, nothing cut, letters as promised.

Letter heights: NUREG-0700 rev. 3, 11.4.1.5-1 (15 minutes of arc at least, the distance times
0.004), worked out in ``tests/unit/test_page_door_fit.py``.
"""

from __future__ import annotations

import io
from functools import cache
from typing import TYPE_CHECKING, Any, Final, TypeAlias

import pytest
from pypdf import PdfReader

from matchmaker import verbs
from matchmaker.report.page.door_text import width_em
from matchmaker.report.page.doors import doors_view
from matchmaker.report.page.page import page_html
from matchmaker.reporting import season_report
from tests.builders import cock, hen, write_flock
from tests.page.browsing import PHONE, TWO, Opener, overflow, plain, stands_in
from tests.page.hostile import hostile_flock
from tests.season_flocks import small_flock

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from playwright.sync_api import Page, ViewportSize

    from matchmaker.reporting import SeasonReport
    from tests.builders import Row

pytestmark = pytest.mark.page

PAPERS: Final = ("A4", "Letter")
PAPER: Final[dict[str, ViewportSize]] = {
    "A4": {"width": 703, "height": 1031},
    "Letter": {"width": 725, "height": 965},
}
"""What is left of the papers inside their margins, in CSS pixels (A4: 210 mm by 297 mm)."""

Doors: TypeAlias = "list[tuple[str, Sequence[Any]]]"
"""Pens with their sheets."""
LONG: Final = "Wilhelmina-of-the-northern-orchard-{:05}"


def penned(path: Path, bands: Sequence[str], *, cock_band: str = "C12", pen: str = "3") -> Path:
    """A pen with these hens, and one with a single hen beside it."""
    birds = [cock(cock_band), cock("SD"), *(hen(band) for band in bands), hen("S1")]
    pens = [
        {"pen": pen, "hens_max": f"{len(bands)}", "dam_known": "yes"},
        {"pen": "Yard", "hens_max": "4"},
    ]
    plan = [{"pen": pen, "line": "Pure", "cock": cock_band, "hen": band} for band in bands]
    plan.append({"pen": "Yard", "line": "Pure", "cock": "SD", "hen": "S1"})
    settings = "[limits]\nkinship_max = 0.3\n[lines.Pure]\nchicks_wanted = 60\n"
    return write_flock(path, birds, settings, pens=pens, plan=plan)


def followed(path: Path) -> Path:
    """Three cocks after each other in the Orchard; on the day of the sheet the second stands."""
    spans = [("SC", "02-01", "03-05"), ("SD", "03-05", "04-02"), ("SC", "04-02", "")]
    moves: list[Row] = [
        {
            "bird": bird,
            "pen": "Orchard",
            "moved_in": f"2027-{since}",
            "moved_out": f"2027-{until}" if until else "",
        }
        for bird, since, until in spans
    ]
    moves += [{"bird": one, "pen": "Orchard", "moved_in": "2027-02-01"} for one in ("A1", "A2")]
    return small_flock(path, today="2027-03-20", moves=moves)


FLOCKS: Final[dict[str, Callable[[Path], Path]]] = {
    "hostile names": hostile_flock,
    "cocks in succession": followed,
    "told apart or not": small_flock,
    "24 hens": lambda path: penned(path, [f"S26-{at:03}" for at in range(24)]),
    "6 hens of 40 letters": lambda path: penned(
        path, [LONG.format(at) for at in range(6)], cock_band=LONG.format(77777), pen="Orchard"
    ),
    "one of 24 with 40 letters": lambda path: penned(
        path, [LONG.format(0), *(f"S26-{at:03}" for at in range(23))]
    ),
}


def report_of(folder: Path) -> SeasonReport:
    return season_report(verbs.pairs(folder))


def printed(page: Page, paper: str) -> list[str]:
    """The text of each page on paper."""
    reader = PdfReader(io.BytesIO(page.pdf(format=paper)))
    return [plain(one.extract_text()) for one in reader.pages]


def joined(text: str) -> str:
    """Text without any space, for bands that wrap."""
    return "".join(text.split())


@pytest.mark.parametrize("name", TWO)
def test_each_pen_of_the_examples_has_one_page(
    opened: Opener,
    example_page: Callable[[str], Path],
    example_season: Callable[[str], SeasonReport],
    name: str,
) -> None:
    page = opened(example_page(name))
    pens = doors_view(example_season(name)).values["pens"]
    for paper in PAPERS:
        pages = printed(page, paper)
        assert len(pages) == len(pens)
        for text, (_, sheets) in zip(pages, pens, strict=True):
            contents = sheets[0].contents
            birds = [one.band for one in (*contents.cocks, *contents.hens)]
            assert text.startswith(f"Pen {contents.pen} ")
            assert [band for band in birds if not stands_in(band, text)] == []
            assert contents.footer in text


@pytest.mark.parametrize("paper", PAPERS)
def test_one_pen_is_printed_alone(
    opened: Opener, example_page: Callable[[str], Path], paper: str
) -> None:
    """All sheets come where no pen was tapped: nobody is left with an empty page."""
    page = opened(example_page("tarn-croft"))
    page.locator("#doors-print-one").check()
    tiles = page.locator(".door-tiles a")
    assert len(printed(page, paper)) == tiles.count() > 1
    for at in (1, 0):
        pen = plain(tiles.nth(at).locator(".door-tile-pen").inner_text())
        tiles.nth(at).click()
        (text,) = printed(page, paper)
        assert joined(text).startswith(joined(pen))


@pytest.fixture(scope="module")
def flock_page(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], tuple[Path, Doors]]:
    """The page of one of the flocks, and its pens with their sheets, made once."""

    @cache
    def made(name: str) -> tuple[Path, Doors]:
        folder = tmp_path_factory.mktemp("doors")
        report = report_of(FLOCKS[name](folder / "flock"))
        file = folder / "page.html"
        file.write_text(page_html(report), encoding="utf-8")
        return file, doors_view(report).values["pens"]

    return made


@pytest.mark.parametrize("name", FLOCKS)
def test_each_pen_has_one_page_whatever_the_names(
    opened: Opener, flock_page: Callable[[str], tuple[Path, Doors]], name: str
) -> None:
    file, pens = flock_page(name)
    page = opened(file)
    assert [len(sheets) for _, sheets in pens] == [1] * len(pens)
    for paper in PAPERS:
        assert len(printed(page, paper)) == len(pens)
    shown = page.locator(".sheet").all_text_contents()
    for text, (_, sheets) in zip(shown, pens, strict=True):
        contents = sheets[0].contents
        for band in (contents.pen, *(one.band for one in (*contents.cocks, *contents.hens))):
            assert plain(band) in plain(text)


@pytest.mark.parametrize("hens", [60, 200])
def test_what_one_page_cannot_hold_goes_on_marked(
    opened: Opener, tmp_path: Path, hens: int
) -> None:
    bands = [f"S26-{at:03}" for at in range(hens)]
    report = report_of(penned(tmp_path, bands))
    page = opened(page_html(report))
    pages = printed(page, "A4")
    assert len(pages) > 2
    assert [one.startswith("Pen 3, continued") for one in pages[1:-1]] == [True] * (len(pages) - 2)
    assert pages[-1].startswith("Pen Yard")
    whole = " ".join(pages)
    assert [band for band in bands if not stands_in(band, whole)] == []
    assert _cut(page, "Letter") == []


@pytest.mark.parametrize("name", [*TWO, *FLOCKS])
def test_nothing_is_cut_on_paper(
    opened: Opener,
    example_page: Callable[[str], Path],
    flock_page: Callable[[str], tuple[Path, Doors]],
    name: str,
) -> None:
    page = opened(flock_page(name)[0] if name in FLOCKS else example_page(name))
    for paper in PAPERS:
        assert _cut(page, paper) == []


def _cut(page: Page, paper: str) -> list[str]:
    """What reaches beyond its sheet or its box, and lines too narrow to write on."""
    page.set_viewport_size(PAPER[paper])
    page.emulate_media(media="print")
    found: list[str] = page.evaluate(CUT)
    return found


CUT: Final = """() => [...document.querySelectorAll(".sheet")].flatMap((sheet) => {
  const box = sheet.getBoundingClientRect();
  const named = (one) => `${sheet.id}: ${one.className} ${one.textContent.trim().slice(0, 40)}`;
  const inside = (r) => r.width === 0 || r.height === 0 || (r.left >= box.left - 1 &&
    r.right <= box.right + 1 && r.top >= box.top - 1 && r.bottom <= box.bottom + 1);
  const all = [sheet, ...sheet.querySelectorAll("*")].filter((one) => one.checkVisibility());
  const beyond = all.filter((one) => !inside(one.getBoundingClientRect())).map(named);
  const full = all.filter((one) => one.scrollHeight > one.clientHeight + 1 &&
    getComputedStyle(one).overflowY !== "visible").map(named);
  const over = sheet.scrollHeight > sheet.clientHeight + 1 ? [`${sheet.id} is too full`] : [];
  const narrow = [...sheet.querySelectorAll(".door-notes p")].slice(1)
    .filter((one) => one.getBoundingClientRect().height < 24).map(named);
  return [...beyond, ...full, ...over, ...narrow];
})"""
"""Lines to write on are 24 px high at least: a quarter inch, as ruled paper has (from memory)."""


@pytest.mark.parametrize("name", TWO)
def test_letters_are_as_large_as_promised(
    opened: Opener, example_page: Callable[[str], Path], name: str
) -> None:
    page = opened(example_page(name))
    page.emulate_media(media="print")
    sizes: dict[str, list[float]] = page.evaluate(
        """() => Object.fromEntries([".door-pen", ".door-cock b", ".door-hens b", ".door-block p",
          ".door-foot", ".door-strip p"].map((at) => [at, [...document.querySelectorAll(at)].map(
            (one) => Math.round(75 * parseFloat(getComputedStyle(one).fontSize)) / 100)]))"""
    )
    assert min(sizes[".door-pen"]) >= 96
    assert min(sizes[".door-cock b"]) >= 48
    assert min(sizes[".door-hens b"]) >= 31
    assert min(sizes[".door-block p"]) >= 10
    assert min(sizes[".door-strip p"]) >= 14
    assert min(sizes[".door-foot"]) >= 10


def test_widths_are_reckoned_no_smaller_than_they_are(opened: Opener) -> None:
    words = ["S26-003", "Wilhelmina", "B26-026", "Рябушка-№7", "OR25-001", "lil'fit", "Mmm WWW"]
    cells = "".join(f"<b>{word}</b><br>" for word in words)
    page = opened(f'<body style="font: 700 100px DejaVu Sans">{cells}')
    measured = page.evaluate(
        "[...document.querySelectorAll('b')].map((one) => one.getBoundingClientRect().width / 100)"
    )
    short = [
        (word, width, width_em(word))
        for word, width in zip(words, measured, strict=True)
        if width > 1.01 * width_em(word)
    ]
    assert short == []


def test_everything_is_printed_where_that_is_chosen(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("tarn-croft"))
    only = printed(page, "A4")
    assert not any("Where it comes from" in text for text in only)
    page.get_by_label("everything on this page").check()
    every = printed(page, "A4")
    assert len(every) > len(only)
    whole = " ".join(every)
    for heading in page.locator("h2").all_text_contents():
        assert plain(heading) in whole
    drawn = page.input_value("#family-bird")
    tree = next(text for text in every if "Pedigree of a bird" in text)
    assert stands_in(drawn, tree)
    pens = [text for text in every if text.startswith("Pen ")]
    assert [joined(text) for text in pens] == [joined(text) for text in only]
    page.get_by_label("the pen sheets").check()
    assert len(printed(page, "A4")) == len(only)


def test_what_is_printed_is_chosen_without_scripts(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("tarn-croft"), scripts=False)
    page.emulate_media(media="print")
    assert not page.locator("#glance").is_visible()
    page.emulate_media(media="screen")
    page.get_by_label("everything on this page").check()
    page.emulate_media(media="print")
    assert page.locator("#glance").is_visible()


def test_paper_is_black_on_white_whatever_the_screen(
    opened: Opener, example_page: Callable[[str], Path]
) -> None:
    page = opened(example_page("holm-fen"), dark=True)
    look = """() => [...document.querySelectorAll(".sheet, .sheet *")]
      .filter((one) => one.checkVisibility()).map((one) => getComputedStyle(one))
      .map((style) => [style.color, style.backgroundColor])"""
    on_screen: list[list[str]] = page.evaluate(look)
    assert any(colour != "rgb(0, 0, 0)" for colour, _ in on_screen)
    page.emulate_media(media="print")
    found: list[Any] = page.evaluate(look)
    assert {colour for colour, _ in found} == {"rgb(0, 0, 0)"}
    assert {ground for _, ground in found} <= {"rgba(0, 0, 0, 0)", "rgb(255, 255, 255)"}


@pytest.mark.parametrize("scripts", [True, False])
def test_the_first_screen_of_a_phone_shows_pens(
    opened: Opener, example_page: Callable[[str], Path], *, scripts: bool
) -> None:
    page = opened(example_page("holm-fen"), viewport=PHONE, scripts=scripts)
    links = page.locator(".door-tiles a")
    boxes = [links.nth(at).bounding_box() for at in range(links.count())]
    assert all(box is not None and box["height"] >= 44 for box in boxes)
    third = boxes[2]
    assert third is not None
    assert third["y"] + third["height"] <= PHONE["height"]
    assert overflow(page) == []


def test_a_tile_leads_to_its_sheet(opened: Opener, example_page: Callable[[str], Path]) -> None:
    page = opened(example_page("holm-fen"), viewport=PHONE)
    for link in page.locator(".door-tiles a").all():
        pen = plain(link.locator(".door-tile-pen").inner_text())
        target = (link.get_attribute("href") or "").removeprefix("#")
        assert plain(page.locator(f"[id='{target}'] h3").inner_text()) == pen
