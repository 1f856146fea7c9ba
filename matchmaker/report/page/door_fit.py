"""How a pen sheet is laid out on its page: letter sizes, columns, and what goes on a second one.

The page is the smaller of A4 and US Letter in each direction, less 12 mm on every side.

Letters are at least 15 minutes of arc high, better 20 (NUREG-0700 rev. 3, 11.4.1.5-1: the distance
times 0.004, better 0.006). Capitals of DejaVu Sans are 0.729 of the letter size high, so that
16 points can be read from 1 m, 31 from 2 m, 47 from 3 m; better are 24, 47 and 71.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING, Final

from matchmaker.report.page.door_text import PLAIN, line_count, width_em

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

MM: Final = 72 / 25.4
WIDTH: Final = 184 * MM
HEIGHT: Final = 250 * MM
"""Room for a sheet in points; 2 mm less each way than A4 is wide and Letter high."""

PEN: Final = (96, 84, 72, 60, 48, 40, 31)
COCK: Final = (60, 54, 48, 44, 40, 36, 31)
FOOTER: Final = 10
LABEL: Final = 12
GAP: Final = 8.0
RULE: Final = 22.0
"""A line to write on, in points."""

STEPS: Final = (
    (48, 13, 5),
    (44, 13, 5),
    (40, 13, 5),
    (40, 12, 4),
    (36, 12, 4),
    (31, 12, 4),
    (31, 11, 3),
    (31, 10, 3),
    (31, 9, 3),
    (28, 9, 3),
    (24, 9, 3),
    (20, 9, 3),
    (16, 9, 2),
)
"""Letter sizes of hens and of the text, and lines to write on at least: the first that fits."""

MOST_COLUMNS: Final = 4
CONTINUED: Final = 31
"""Letter size of hens that run on to a second page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A bird with what is said beside its band."""

    band: str
    said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A part of the text: a heading, a table where there is one, sentences.

    The first column of the table is words, all others are short.
    """

    key: str
    title: str
    caption: str = ""
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    texts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What stands on the sheet of a pen; ``beside`` is what stands beside its name."""

    pen: str
    purpose: str
    beside: tuple[str, ...]
    cocks: tuple[Named, ...]
    hens: tuple[Named, ...]
    hens_title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """Letter sizes in points, columns of hens, and lines to write on."""

    pen: int
    cock: int
    hen: int
    columns: int
    body: int
    lines: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One page: the whole of a pen, or its birds first and what is left on the next ones."""

    contents: Contents
    sizes: Sizes
    hens: tuple[Named, ...]
    left: tuple[Block, ...]
    right: tuple[Block, ...]
    continued: bool = False
    notes: bool = True


def sheets(contents: Contents) -> tuple[Sheet, ...]:
    """The page of a pen, or its pages where one cannot hold everything in readable letters."""
    head = head_height(contents)
    for hen, body, lines in STEPS:
        left, right = halves(contents.blocks, body)
        text = max(height_of(left, body), height_of(right, body))
        room = HEIGHT - head - text - lines * RULE - _foot()
        columns = _columns(contents.hens, hen, room)
        if columns:
            free = room - hens_height(contents.hens, hen, columns)
            sizes = _sizes(contents, hen, columns, body, lines + int(free / RULE))
            return (
                Sheet(contents=contents, sizes=sizes, hens=contents.hens, left=left, right=right),
            )
    return tuple(_several(contents, head))


def _sizes(contents: Contents, hen: int, columns: int, body: int, lines: int) -> Sizes:
    return Sizes(
        pen=pen_size(contents.pen),
        cock=cock_size(contents.cocks),
        hen=hen,
        columns=columns,
        body=body,
        lines=lines,
    )


def pen_size(pen: str) -> int:
    """The largest letters in which a pen's name stands on one line; the smallest if it wraps."""
    return next((size for size in PEN if width_em(pen) * size <= WIDTH), PEN[-1])


def cock_size(cocks: Sequence[Named]) -> int:
    """The same for cocks; where several stand in a pen they are no larger than hens may be."""
    sizes = COCK if len(cocks) < 2 else COCK[2:]
    widest = max((width_em(one.band) for one in cocks), default=0.0)
    return next((size for size in sizes if widest * size <= WIDTH), sizes[-1])


def head_height(contents: Contents) -> float:
    """Height of pen and cocks, in points."""
    size = pen_size(contents.pen)
    width = width_em(contents.pen) * size
    name = line_count(contents.pen, WIDTH / size) * size * 1.05 + LABEL * 1.4
    beside = WIDTH - width - 24 if width <= WIDTH / 2 else WIDTH
    said = line_count(contents.purpose, beside / 20) * 25 + sum(
        line_count(text, beside / 14 / PLAIN) * 18 for text in contents.beside
    )
    top = max(name, said + LABEL * 1.4) if beside < WIDTH else name + said
    return top + sum(map(_cock_height, contents.cocks, [cock_size(contents.cocks)] * 99)) + 4 * GAP


def _cock_height(cock: Named, size: int) -> float:
    width = width_em(cock.band) * size
    said = width_em(cock.said) * 14
    name = line_count(cock.band, WIDTH / size) * size * 1.15
    if width + said + 16 <= WIDTH:
        return max(name, 18)
    return name + line_count(cock.said, WIDTH / 14) * 18


def hens_height(hens: Sequence[Named], size: int, columns: int) -> float:
    """Height of the hens in so many columns, filled row by row, with their heading."""
    cells = [_cell(hen, size, columns) for hen in hens]
    rows = [max(cells[at : at + columns]) for at in range(0, len(cells), columns)]
    return sum(rows) + LABEL * 1.4 + GAP


def _room(columns: int) -> float:
    return (WIDTH - (columns - 1) * 12) / columns


def _cell(hen: Named, size: int, columns: int) -> float:
    room = _room(columns)
    name = line_count(hen.band, room / size) * size * 1.15
    if not hen.said:
        return name + 2
    if width_em(hen.band) * size + width_em(hen.said) * LABEL + 8 <= room:
        return name + 2
    return name + line_count(hen.said, room / LABEL) * LABEL * 1.3 + 2


def _columns(hens: Sequence[Named], size: int, room: float) -> int:
    """The fewest columns in which the hens fit with whole bands, else in which they wrap; or 0."""
    if not hens:
        return 1 if room >= 0 else 0
    fitting = [n for n in range(1, MOST_COLUMNS + 1) if hens_height(hens, size, n) <= room]
    widest = max(width_em(one.band) for one in hens) * size
    whole = [n for n in fitting if widest <= _room(n)]
    return next(iter(whole or fitting), 0)


def halves(blocks: Sequence[Block], body: int) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    """The blocks in two columns as nearly alike in height as they can be, each in its order."""
    heights = [block_height(block, body) for block in blocks]
    whole = sum(heights)
    ways = (
        way for size in range(1, len(blocks) + 1) for way in combinations(range(len(blocks)), size)
    )
    best = min(
        (way for way in ways if 0 in way),
        key=lambda way: (max(s := sum(heights[at] for at in way), whole - s), way),
        default=(),
    )
    left = tuple(blocks[at] for at in best)
    return left, tuple(block for at, block in enumerate(blocks) if at not in best)


def height_of(blocks: Iterable[Block], body: int) -> float:
    """Height of blocks below each other in one of two columns, in points."""
    return sum(block_height(block, body) for block in blocks)


def block_height(block: Block, body: int) -> float:
    """Height of a block in one of two columns, in points."""
    room = (WIDTH - 18) / 2 / body
    lines = 1.25 + sum(line_count(text, room / PLAIN) * 1.3 + 0.3 for text in block.texts)
    if block.head:
        lines += _table_lines(block, room)
    return (lines + 0.6) * body


def _table_lines(block: Block, room: float) -> float:
    """Lines of a table: its headings may wrap, its first column has what the others leave."""
    numbers = [
        max(width_em(row[at]) for row in block.rows) + 0.9 for at in range(1, len(block.head))
    ]
    longest = [max(map(width_em, name.split())) + 0.9 for name in block.head[1:]]
    others = sum(map(max, numbers, longest))
    first = max(room - others, 3.5)
    lines = sum(line_count(row[0], first) * 1.3 + 0.25 for row in block.rows)
    head = max(len(name.split()) for name in block.head)
    caption = line_count(block.caption, room / PLAIN) * 1.3 if block.caption else 0.0
    return lines + head * 1.3 + 0.25 + caption


def _foot() -> float:
    return FOOTER * 3.2 + GAP


def _several(contents: Contents, head: float) -> Iterator[Sheet]:
    """The birds first, on as many pages as they need, then the text."""
    first = HEIGHT - head - _foot()
    whole = next(
        (
            (hen, n)
            for hen, _, _ in STEPS
            if hen <= 40 and (n := _columns(contents.hens, hen, first))
        ),
        None,
    )
    size, columns = whole or (CONTINUED, _best_columns(contents.hens))
    begun = False
    for hens in _portions(contents.hens, size, columns, first):
        yield Sheet(
            contents=contents,
            sizes=_sizes(contents, size, columns, 12, 0),
            hens=hens,
            left=(),
            right=(),
            continued=begun,
            notes=False,
        )
        begun = True
    yield from _text_pages(contents, _sizes(contents, size, columns, 12, 6))


def _best_columns(hens: Sequence[Named]) -> int:
    return min(range(1, MOST_COLUMNS + 1), key=lambda n: hens_height(hens, CONTINUED, n))


def _portions(
    hens: Sequence[Named], size: int, columns: int, first: float
) -> Iterator[tuple[Named, ...]]:
    """The hens of each page."""
    room, at = first, 0
    while at < len(hens):
        end = at + columns
        while end < len(hens) and hens_height(hens[at : end + columns], size, columns) <= room:
            end += columns
        yield tuple(hens[at:end])
        at, room = end, HEIGHT - 60 - _foot()


def _text_pages(contents: Contents, sizes: Sizes) -> Iterator[Sheet]:
    """The text in letters of 12 points, on as many pages as it needs."""
    room = HEIGHT - 60 - _foot() - sizes.lines * RULE
    rest = list(contents.blocks)
    while rest:
        own = [rest.pop(0)]
        while rest and _taller(halves((*own, rest[0]), sizes.body), sizes.body) <= room:
            own.append(rest.pop(0))
        left, right = halves(own, sizes.body)
        free = int((room - _taller((left, right), sizes.body)) / RULE)
        yield Sheet(
            contents=contents,
            sizes=replace(sizes, lines=max(2, sizes.lines + free)),
            hens=(),
            left=left,
            right=right,
            continued=True,
            notes=not rest,
        )


def _taller(columns: Iterable[Sequence[Block]], body: int) -> float:
    return max(height_of(one, body) for one in columns)
