"""How pen sheets are laid out: sizes, columns, pages, and that nothing is left out.

Letter heights: NUREG-0700 rev. 3, 11.4.1.5-1 (15 minutes of arc at least, 20 better: the distance
times 0.004 and 0.006). Paper: ISO 216 A4 is 210 mm by 297 mm, Letter 8.5 by 11 inches (from
memory).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import chain

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matchmaker.report.page.door_fit import Sheet, halves, sheets
from matchmaker.report.page.door_sizes import (
    FOOTER,
    HEIGHT,
    MM,
    WIDTH,
    Block,
    Contents,
    Named,
    cock_size,
    height_of,
    hens_height,
)
from matchmaker.report.page.door_text import line_count, width_em

CAPITAL = 0.729
"""Height of capitals in DejaVu Sans, in units of the letter size (measured)."""

WEEKS = tuple((f"{day} March", "24") for day in range(1, 13))
SENTENCE = "Some words that a keeper reads at the door, about as many as there are at most. "


def contents(
    hens: int = 4, band: str = "S26-{:03}", *, pen: str = "3", cocks: int = 1, **changes: object
) -> Contents:
    """A pen with as much to say as pens of the examples have, and twelve weeks of eggs."""
    made = Contents(
        pen=pen,
        strip=("for Cedar (backcross)", "Eggs safe from Mon 8 February", "Mark each egg."),
        cocks=tuple(
            Named(band=band.format(900 + at), said="Sussex 87.5 %, line Cedar")
            for at in range(cocks)
        ),
        hens=tuple(
            Named(band=band.format(at), said="safe from 15 February" if at == 0 else "")
            for at in range(hens)
        ),
        hens_title=f"{hens} hens of line Sussex, as on Mon 1 February",
        blocks=(
            Block(title="Eggs to set: 234", items=WEEKS, texts=(SENTENCE,)),
            Block(title="Which chicks to keep", texts=(SENTENCE, SENTENCE)),
            Block(title="Chicks to expect", texts=(SENTENCE, SENTENCE)),
            Block(title="If the cock dies", texts=(3 * SENTENCE,)),
        ),
        caution=2 * SENTENCE,
        footer=f"Pen {pen} · Pens for 2027 · tables 01234567 · as of 26 January 2027",
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def told(pages: tuple[Sheet, ...]) -> tuple[list[Named], list[str]]:
    """All hens and all titles of blocks on the pages, in order."""
    hens = list(chain.from_iterable(page.hens for page in pages))
    blocks = [one.title for page in pages for one in (*page.left, *page.right)]
    return hens, blocks


@pytest.mark.parametrize(
    ("hens", "cocks"),
    [(hens, cocks) for cocks, most in ((1, 24), (2, 24), (3, 20)) for hens in range(1, most + 1)],
)
def test_up_to_24_hens_stand_on_one_page(hens: int, cocks: int) -> None:
    pen = contents(hens, cocks=cocks)
    (page,) = sheets(pen)
    assert page.hens == pen.hens
    assert page.sizes.hen >= (31 if hens <= 15 and cocks == 1 else 16)
    assert page.sizes.lines >= 2
    assert page.sizes.body >= 8


@pytest.mark.parametrize(("hens", "least"), [(1, 40), (2, 40), (3, 31), (6, 31), (12, 31)])
def test_few_hens_have_large_letters(hens: int, least: int) -> None:
    (page,) = sheets(contents(hens))
    assert page.sizes.hen >= least
    assert page.sizes.pen == 96
    assert page.sizes.cock == 60


def test_letters_can_be_read_from_where_one_stands() -> None:
    """Pen and cock better from 2 m, hens from 2 m and at worst 1 m, the footer from 0.5 m."""
    (page,) = sheets(contents(9))

    def high(points: float, metres: float) -> float:
        return points * 25.4 / 72 / 1000 * CAPITAL / metres

    assert high(page.sizes.pen, 2.0) >= 0.006
    assert high(page.sizes.cock, 2.0) >= 0.006
    assert high(page.sizes.hen, 2.0) >= 0.0039
    assert high(16, 1.0) >= 0.004
    assert high(8, 0.5) >= 0.004
    assert high(FOOTER, 0.5) >= 0.004


def test_the_room_is_that_of_both_papers() -> None:
    a4, letter = (210.0, 297.0), (8.5 * 25.4, 11 * 25.4)
    assert min(a4[0], letter[0]) - 24 >= WIDTH / MM
    assert min(a4[1], letter[1]) - 24 >= HEIGHT / MM


@pytest.mark.parametrize("hens", [1, 6, 9])
def test_bands_of_40_letters_wrap_on_one_page(hens: int) -> None:
    (page,) = sheets(contents(hens, "Wilhelmina-of-the-northern-orchard-{:05}"))
    assert page.sizes.hen >= 16
    assert page.sizes.cock >= 31


def test_one_long_band_does_not_shrink_all() -> None:
    pen = contents(6)
    long = Named(band="Wilhelmina-of-the-northern-orchard-40let")
    (page,) = sheets(replace(pen, hens=(*pen.hens, long)))
    assert page.sizes.hen >= 28


@pytest.mark.parametrize("hens", [60, 200])
def test_what_one_page_cannot_hold_goes_on(hens: int) -> None:
    pen = contents(hens)
    pages = sheets(pen)
    assert len(pages) > 1
    assert [page.continued for page in pages] == [False] + [True] * (len(pages) - 1)
    assert told(pages) == (list(pen.hens), [block.title for block in pen.blocks])
    assert [page.notes for page in pages] == [False] * (len(pages) - 1) + [True]
    for page in pages:
        height = hens_height(page.hens, page.sizes.hen, page.sizes.columns) if page.hens else 0.0
        assert height <= HEIGHT
    assert all(page.sizes.hen >= 16 for page in pages)


@given(
    hens=st.lists(st.text(min_size=1, max_size=40), max_size=60),
    pen=st.text(min_size=1, max_size=40),
    texts=st.lists(st.text(max_size=400), min_size=1, max_size=6),
)
def test_nothing_is_left_out_whatever_the_names(
    hens: list[str], pen: str, texts: list[str]
) -> None:
    named = tuple(Named(band=band) for band in hens)
    blocks = tuple(Block(title=str(at), texts=(text,)) for at, text in enumerate(texts))
    pages = sheets(replace(contents(pen=pen), hens=named, blocks=blocks))
    birds, titles = told(pages)
    assert birds == list(named)
    assert sorted(titles) == sorted(block.title for block in blocks)
    assert not pages[0].continued


def test_columns_are_as_nearly_alike_as_they_can_be() -> None:
    blocks = contents().blocks
    left, right = halves(blocks, 12)
    whole = [height_of([block], 12) for block in blocks]
    best = min(
        max(part, sum(whole) - part)
        for part in (
            sum(one for at, one in enumerate(whole) if number >> at & 1) for number in range(16)
        )
    )
    assert max(height_of(left, 12), height_of(right, 12)) == pytest.approx(best)
    assert sorted(one.title for one in (*left, *right)) == sorted(one.title for one in blocks)


def test_a_cock_with_a_long_band_has_smaller_letters() -> None:
    assert cock_size([Named(band="C12")], 400) == (60, True)
    assert cock_size([Named(band="C12")], 100) == (60, False)
    assert cock_size([Named(band="W" * 40)], 400) == (31, True)
    assert cock_size([Named(band="W" * 40)], 100) == (31, False)
    assert cock_size([Named(band="C12"), Named(band="C13")], 400) == (48, True)
    assert cock_size([Named(band="W" * 40)], 400, 24) == (24, True)


def test_lines_keep_words_whole_where_they_fit() -> None:
    assert line_count("hen hen hen", width_em("hen hen")) == 2
    assert line_count("A" * 10, width_em("AAA")) == 4
    assert line_count("A1-A1", width_em("A1-A1")) == 1
    assert line_count("A1-A1", width_em("A1-")) == 2
