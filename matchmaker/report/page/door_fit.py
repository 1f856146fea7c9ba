"""How a pen sheet is laid out on its page: letter sizes, columns, and what goes on a second one.

Letters are at least 15 minutes of arc high, better 20 (NUREG-0700 rev. 3, 11.4.1.5-1: the distance
times 0.004, better 0.006). Capitals of DejaVu Sans are 0.729 of the letter size high, so that
8 points can be read from half a metre, 16 from 1 m, 31 from 2 m, 47 from 3 m; better are 12, 24,
47 and 71.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING, Final

from matchmaker.report.page.door_sizes import (
    HEIGHT,
    RULE,
    WIDTH,
    Step,
    block_height,
    cock_size,
    foot_height,
    head_height,
    height_of,
    hen_room,
    hens_height,
    pen_size,
)
from matchmaker.report.page.door_text import width_em

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matchmaker.report.page.door_sizes import Block, Contents, Named

STEPS: Final = (
    Step(hen=54, body=14, lines=5),
    Step(hen=48, body=14, lines=4),
    Step(hen=44, body=13, lines=4),
    Step(hen=40, body=13, lines=4),
    Step(hen=40, body=12, lines=3),
    Step(hen=36, body=12, lines=3),
    Step(hen=31, body=12, lines=3),
    Step(hen=31, body=11, lines=3),
    Step(hen=31, body=10, lines=3),
    Step(hen=31, body=9, lines=2),
    Step(hen=28, body=9, lines=2),
    Step(hen=24, body=9, lines=2),
    Step(hen=24, body=8, lines=2, pen=60, cock=44),
    Step(hen=20, body=8, lines=2, pen=60, cock=44),
    Step(hen=16, body=8, lines=2, pen=60, cock=44),
    Step(hen=16, body=8, lines=2, pen=24, cock=24),
)
"""From few birds with little to say to many with much: the first step that fits is taken."""

ROOMY: Final = 12
"""Letter size of the text where it has pages of its own."""

LARGE: Final = 40
MOST_COLUMNS: Final = 4
CONTINUED: Final = 24
"""Letter size of hens that run on to a second page."""

CONTINUED_HEAD: Final = 60.0
"""Height of the heading of a page that goes on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """Letter sizes in points, columns of hens, and lines to write on.

    ``beside`` says that the cock stands beside the pen, else he stands below it.
    """

    pen: int
    cock: int
    beside: bool
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
    for step in STEPS:
        left, right = halves(contents.blocks, step.body)
        room = _birds_room(contents, step)
        room -= _taller((left, right), step.body) + step.lines * RULE
        columns = _columns(contents.hens, step.hen, room)
        if columns:
            free = room - hens_height(contents.hens, step.hen, columns)
            lines = step.lines + int(free / RULE)
            one = Sheet(
                contents=contents,
                sizes=_sizes(contents, replace(step, lines=lines), columns),
                hens=contents.hens,
                left=left,
                right=right,
            )
            return (one,)
    return tuple(_several(contents))


def _birds_room(contents: Contents, step: Step) -> float:
    return HEIGHT - head_height(contents, step) - foot_height(contents)


def _sizes(contents: Contents, step: Step, columns: int) -> Sizes:
    pen = pen_size(contents.pen, step.pen)
    beside = WIDTH - width_em(contents.pen) * pen - 24
    cock, is_beside = cock_size(contents.cocks, beside, step.cock)
    return Sizes(
        pen=pen,
        cock=cock,
        beside=is_beside,
        hen=step.hen,
        columns=columns,
        body=step.body,
        lines=step.lines,
    )


def _columns(hens: Sequence[Named], size: int, room: float) -> int:
    """The fewest columns in which the hens fit with whole bands, else in which they wrap; or 0."""
    if not hens:
        return 1 if room >= 0 else 0
    fitting = [n for n in range(1, MOST_COLUMNS + 1) if hens_height(hens, size, n) <= room]
    widest = max(width_em(one.band) for one in hens) * size
    whole = [n for n in fitting if widest <= hen_room(n)]
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


def _several(contents: Contents) -> Iterator[Sheet]:
    """The birds first, on as many pages as they need, then the text."""
    fitting = (
        (step, columns)
        for step in STEPS
        if step.hen <= LARGE
        and (columns := _columns(contents.hens, step.hen, _birds_room(contents, step)))
    )
    step, columns = next(fitting, None) or (
        Step(hen=CONTINUED, body=ROOMY, lines=0),
        _best_columns(contents.hens),
    )
    birds = _sizes(contents, replace(step, body=ROOMY, lines=0), columns)
    for at, portion in enumerate(_portions(contents, step, columns)):
        yield Sheet(
            contents=contents,
            sizes=birds,
            hens=portion,
            left=(),
            right=(),
            continued=at > 0,
            notes=False,
        )
    yield from _text_pages(contents, replace(birds, lines=6))


def _best_columns(hens: Sequence[Named]) -> int:
    return min(range(1, MOST_COLUMNS + 1), key=lambda n: hens_height(hens, CONTINUED, n))


def _portions(contents: Contents, step: Step, columns: int) -> Iterator[tuple[Named, ...]]:
    """The hens of each page; none on the first where there are none."""
    hens, room, at = contents.hens, _birds_room(contents, step), 0
    while at < len(hens) or not at:
        end = at + columns
        while end < len(hens) and hens_height(hens[at : end + columns], step.hen, columns) <= room:
            end += columns
        yield hens[at:end]
        at, room = end, HEIGHT - CONTINUED_HEAD - foot_height(contents)


def _text_pages(contents: Contents, sizes: Sizes) -> Iterator[Sheet]:
    """The text in letters of 12 points, on as many pages as it needs."""
    room = HEIGHT - CONTINUED_HEAD - foot_height(contents) - sizes.lines * RULE
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
