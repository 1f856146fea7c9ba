"""Maps of kinship: shades that mean something, numbers in every cell, nothing but kinship."""

from __future__ import annotations

import base64
import re
from functools import cache
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker import verbs
from matchmaker.genetics.kin.diversity import line_kinship
from matchmaker.pairs.rules import Rule
from matchmaker.report.numbers import kinship_text
from matchmaker.report.page.kin_map import OVER, PAIRED, SAME
from matchmaker.report.page.kin_pictures import CLOSEST, living, overview
from matchmaker.report.page.kin_steps import STEPS, TRACE, short_text, step_of, thousandths
from matchmaker.report.page.page import page_html
from matchmaker.tables.records import Sex
from tests.builders import HOME, HOME_SEEN, cock, hen, judged
from tests.page_drawings import quick_report

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.reporting import SeasonReport

EXAMPLES = Path(__file__).parents[2] / "examples"

DEFICIENCIES = {
    "none": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
"""Colours as seen without one kind of cone, in linear light: Machado, Oliveira & Fernandes 2009,
IEEE Trans Vis Comput Graph 15:1291, severity 1.0 (from memory)."""


@cache
def tokens(*, dark: bool) -> dict[str, str]:
    """The colours of the page by name."""
    text = (files("matchmaker.report.page") / "assets" / "base.css").read_text(encoding="utf-8")
    light, _, night = text.partition("@media screen and (prefers-color-scheme: dark)")
    found = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", light))
    return found | dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", night)) if dark else found


def linear(colour: str) -> NDArray[np.float64]:
    """Red, green and blue as light, 0 to 1: WCAG 2.2, definition of relative luminance (W3C)."""
    parts = np.array([int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def luminance(light: NDArray[np.float64]) -> float:
    """Relative luminance of light (WCAG 2.2, W3C)."""
    return float(np.clip(light, 0, 1) @ [0.2126, 0.7152, 0.0722])


def contrast(one: str, other: str) -> float:
    """Contrast ratio, 1 to 21 (WCAG 2.2, W3C)."""
    lights = sorted((luminance(linear(one)), luminance(linear(other))), reverse=True)
    return (lights[0] + 0.05) / (lights[1] + 0.05)


def test_contrast_is_that_of_the_standard() -> None:
    """Black on white 21, a colour on itself 1 (WCAG 2.2); #767676 on white just passes 4.5."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#123456", "#123456") == 1
    assert 4.5 <= contrast("#767676", "#ffffff") < 4.6


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_numbers_can_be_read_on_every_shade(*, dark: bool) -> None:
    """WCAG 2.2 SC 1.4.3: 4.5."""
    known = tokens(dark=dark)
    for at in range(len(STEPS)):
        assert contrast(known[f"on-kin-{at}"], known[f"kin-{at}"]) >= 4.5


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("seen", DEFICIENCIES)
def test_shades_run_one_way_however_colours_are_seen(seen: str, *, dark: bool) -> None:
    """Light to dark on a light page, dark to light on a dark one; each step apart from the last."""
    known = tokens(dark=dark)
    lights = [
        luminance(DEFICIENCIES[seen] @ linear(known[f"kin-{at}"])) for at in range(len(STEPS))
    ]
    steps = [(b + 0.05) / (a + 0.05) for a, b in pairwise(lights)]
    assert all(step > 1.08 for step in steps) if dark else all(step < 1 / 1.08 for step in steps)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_lines_stand_out_from_the_page(*, dark: bool) -> None:
    """WCAG 2.2 SC 1.4.11: 3 for what is needed to understand a drawing."""
    known = tokens(dark=dark)
    assert all(contrast(known[f"line-{at}"], known["raised"]) >= 3 for at in range(6))


@pytest.mark.parametrize(
    ("kinship", "step"),
    [(0, 0), (1 / 64, 1), (1 / 16, 2), (1 / 8, 3), (1 / 4, 4), (3 / 8, 5)],
)
def test_relatives_fall_into_the_step_that_names_them(kinship: float, step: int) -> None:
    """Second cousins 1/64, first cousins 1/16, half sibs 1/8, full sibs and parent 1/4 (Lange,
    Applied Probability, Table 5.1); sibs of a brother and a sister 3/8 (ibid. p. 86)."""
    assert step_of(kinship) == step
    assert step_of(kinship + 1e-12) == step
    if 0 < step < 5:
        assert kinship_text(STEPS[step].top) in STEPS[step].words
        assert kinship_text(kinship) in STEPS[step].kin


@pytest.mark.parametrize("kinship", [0.0, 0.0004, 0.0005, 0.0625, 0.0835, 0.1249999, 0.5, 1.0])
def test_cells_say_the_number_that_is_said_elsewhere(kinship: float) -> None:
    number, text = thousandths(kinship), kinship_text(kinship)
    said = "0" if number == 0 else "< 0.001" if number == TRACE else f"{number / 1000:.3f}"
    assert said == text
    assert short_text(kinship).replace("<", "< ").replace(".", "0.", 1).replace("10.", "1.") == text


@pytest.fixture(scope="module")
def fen() -> SeasonReport:
    return quick_report(verbs.pairs(EXAMPLES / "holm-fen"))


def unpacked(cells: str, wide: int) -> NDArray[np.uint16]:
    """The packed cells as rows of numbers."""
    return np.frombuffer(base64.b64decode(cells), dtype="<u2").reshape(-1, wide)


def test_the_overview_holds_kinship_limit_and_pens(fen: SeasonReport) -> None:
    picture = overview(fen)
    assert picture is not None
    found, kinship = picture.map, fen.table.study.kinship
    breeders = fen.table.study.flock.breeders
    penned = {band for pair in fen.guide.pens.pairs for band in (pair.hen, pair.cock)}
    birds = [b for b in fen.table.study.flock.birds if b in breeders or b.band in penned]
    assert set(found.row_birds) == {b.band for b in birds if b.sex is Sex.HEN}
    assert set(found.column_birds) == {b.band for b in birds if b.sex is Sex.COCK}
    cells = unpacked(found.data()["cells"], len(found.column_birds))
    standing = {(pair.hen, pair.cock) for pair in fen.guide.pens.pairs}
    for row, hen_ in enumerate(found.row_birds):
        for column, cock_ in enumerate(found.column_birds):
            cell, value = int(cells[row, column]), kinship.between(hen_, cock_)
            assert (cell & 1023, cell >> 10 & 7) == (thousandths(value), step_of(value))
            rules = [b.rule for p in fen.table.by_birds[hen_, cock_] for b in p.broken]
            assert bool(cell & OVER) is (Rule.TOO_RELATED in rules)
            assert bool(cell & OVER) is (value > 0.125 + 1e-9)
            assert bool(cell & PAIRED) is ((hen_, cock_) in standing)
    over = sum(int(cell) & OVER > 0 for cell in cells.flat)
    assert f"{over} are above the limit of 0.125" in " ".join(picture.sentences)


def test_the_table_of_the_overview_is_complete(fen: SeasonReport) -> None:
    html = page_html(fen)
    table = html[html.index('<figure class="kin" data-kin="overview"') :]
    table = table[table.index('<table class="kin-table">') : table.index("</table>")]
    picture = overview(fen)
    assert picture is not None
    rows = re.findall(r'<tr><th scope="row">([^<]+)</th>(.*?)</tr>', table, re.DOTALL)
    assert [band for band, _ in rows] == list(picture.map.row_birds)
    assert re.findall(r'<th scope="col"><span>([^<]+)</span>', table) == list(
        picture.map.column_birds
    )
    for hen_, cells in rows:
        numbers = re.findall(r"<td class=[^>]*>(?:&lt;)?([.\d]+)", cells)
        asked = [
            short_text(fen.table.study.kinship.between(hen_, c)) for c in picture.map.column_birds
        ]
        assert numbers == [text.removeprefix("<") for text in asked]
    assert table.count("✕") == table.count("over")


def test_no_cell_judges(fen: SeasonReport) -> None:
    """The overview shows kinship alone: nothing of value, merit or any other rule."""
    picture = overview(fen)
    assert picture is not None
    cells = "".join(str(band.cells) for _, bands in picture.map.bodies() for band in bands)
    words = set(re.findall(r"[A-Za-z][\w-]*", re.sub(r"&\w+;", "", cells)))
    assert words <= {
        "td",
        "class",
        "span",
        "visually-hidden",
        "over",
        "paired",
        "this",
        "season",
    } | {f"k{at}" for at in range(6)}


def test_all_living_birds_are_on_the_map(fen: SeasonReport) -> None:
    picture = living(fen)
    assert picture is not None
    found, study = picture.map, fen.table.study
    birds = {bird.band: bird for bird in study.flock.living}
    assert sorted(found.row_birds) == sorted(birds)
    assert [group.line for group in found.rows] == ["Alder", "Birch", "Cedar", "Sussex"]
    cells = unpacked(found.data()["cells"], len(birds))
    assert (cells == cells.T).all()
    assert [int(cell) for cell in cells.diagonal()] == [SAME] * len(birds)
    assert not (cells & (OVER | PAIRED)).any()
    means, closest = picture.tables
    lines = line_kinship(study.kinship, {b.band: b.line for b in study.flock.breeders})
    for row in means.rows:
        assert row[1:] == tuple(kinship_text(lines.between(row[0], one)) for one in lines.lines)
    values = np.triu(
        study.kinship.values[np.ix_(*[[study.kinship.position(b) for b in found.row_birds]] * 2)], 1
    )
    largest = np.sort(values[values > 0])[::-1][:CLOSEST]
    assert [row[-1] for row in closest.rows] == [kinship_text(value) for value in largest]


def test_a_limit_of_one_line_marks_its_own_chicks(tmp_path: Path) -> None:
    settings = "[lines.Alder]\nkinship_max = 0.05\n[breeds.sussex]\nbase = 0.06\n"
    report = quick_report(judged(tmp_path, HOME, settings, seen=HOME_SEEN))
    picture = overview(report)
    assert picture is not None
    assert "0.050 for Alder and 0.125 for Pure" in picture.limit_words
    for couple, entries in report.table.by_birds.items():
        broken = any(b.rule is Rule.TOO_RELATED for entry in entries for b in entry.broken)
        assert (couple in picture.map.over) is broken


def test_maps_of_next_to_nothing(tmp_path: Path) -> None:
    report = quick_report(judged(tmp_path, [cock("SC"), hen("SH")]))
    picture = overview(report)
    assert picture is not None
    assert picture.map.row_birds == ("SH",)
    assert "1 hen with 1 cock" in picture.sentences[0]
    assert "Not related by the tables: 1 pair." in picture.sentences
    assert living(report) is not None


def test_bands_of_any_kind_are_text(tmp_path: Path) -> None:
    bands = ["<script>alert(1)</script>", "\"&'", "Ряба-№7", "w" * 40]
    line = "</script><i>"
    half = "sussex:0.5|araucana:0.5"
    birds = [cock("SC"), *(hen(band, line, half, O="blue") for band in bands)]
    report = quick_report(judged(tmp_path, birds))
    picture = overview(report)
    assert picture is not None
    assert sorted(picture.map.row_birds) == sorted(bands)
    html = page_html(report)
    assert "<i>" not in html
    assert "<script>alert" not in html
    assert "Ряба-№7" in html
    assert html.count("</script>") == html.count("<script")
