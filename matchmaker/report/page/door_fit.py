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
RULE: Final = 21.0
"""A line to write on, in points."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Letter sizes of hens and of the text, lines to write on at least, most for pen and cock."""

    hen: int
    body: int
    lines: int
    pen: int = PEN[0]
    cock: int = COCK[0]


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
    Step(hen=16, body=8, lines=2, pen=40, cock=31),
)
"""From few birds with little to say to many with much: the first step that fits is taken."""

ROOMY: Final = 12
"""Letter size of the text where it has pages of its own."""

MANY: Final = {0: 60, 1: 60, 2: 48}
"""The largest letters of a cock by the number of cocks in the pen; of more 36."""

BESIDE: Final = 48
"""The smallest letters of a cock who stands beside his pen's name."""

STRIP: Final = 14
LARGE: Final = 40
MOST_COLUMNS: Final = 4
CONTINUED: Final = 24
"""Letter size of hens that run on to a second page."""

CONTINUED_HEAD: Final = 60.0
"""Height of the heading of a page that goes on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A bird with what is said beside its band."""

    band: str
    said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A part of the text: a heading, a list of words with a number each, sentences."""

    title: str
    items: tuple[tuple[str, str], ...] = ()
    texts: tuple[str, ...] = ()

    @property
    def lines(self) -> int:
        """Lines of the list, which stands in two columns."""
        return (len(self.items) + 1) // 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What stands on the sheet of a pen; ``strip`` stands below its name and its cock."""

    pen: str
    strip: tuple[str, ...]
    cocks: tuple[Named, ...]
    hens: tuple[Named, ...]
    hens_title: str
    blocks: tuple[Block, ...]
    caution: str
    footer: str


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


def pen_size(pen: str, most: int = PEN[0]) -> int:
    """The largest letters in which a pen's name stands on one line; the smallest if it wraps.

    Examples
    --------
    >>> pen_size("7"), pen_size("Orchard")
    (96, 96)
    """
    sizes = (size for size in PEN if size <= most and width_em(pen) * size <= WIDTH)
    return next(sizes, PEN[-1])


def cock_size(cocks: Sequence[Named], beside: float, most: int = COCK[0]) -> tuple[int, bool]:
    """Letter size of the cocks, and whether they stand in the room beside the pen.

    The largest in which every band stands on one line beside the pen, else on one line below it,
    else on two lines beside it; the smallest if no size does. Where several cocks stand in a pen
    their letters are smaller.

    Examples
    --------
    >>> cock_size([Named(band="C26-005")], 400), cock_size([Named(band="C26-005")], 100)
    ((60, True), (60, False))
    """
    sizes = [size for size in COCK if size <= min(most, MANY.get(len(cocks), 36))]
    widest = max((width_em(one.band) for one in cocks), default=0.0)
    large = [size for size in sizes if widest * size <= beside and size >= min(BESIDE, sizes[0])]
    if large:
        return large[0], True
    below = [size for size in sizes if widest * size <= WIDTH]
    if below:
        return below[0], False
    return sizes[-1], beside >= WIDTH / 2


def head_height(contents: Contents, step: Step = STEPS[0]) -> float:
    """Height of pen, cocks and the strip below them, in points."""
    pen = pen_size(contents.pen, step.pen)
    width = width_em(contents.pen) * pen
    cock, beside = cock_size(contents.cocks, WIDTH - width - 24, step.cock)
    room = WIDTH - width - 24 if beside else WIDTH
    name = line_count(contents.pen, WIDTH / pen) * pen * 1.05 + LABEL * 1.4
    cocks = LABEL * 1.4 + sum(_cock_height(one, cock, room) for one in contents.cocks)
    strip = strip_lines(contents.strip) * STRIP * 1.3
    return (max(name, cocks) if beside else name + cocks) + strip + 2 * GAP


def strip_lines(texts: Iterable[str]) -> int:
    """Lines of the strip: its texts stand beside each other where they fit.

    Examples
    --------
    >>> strip_lines(["for Cedar", "Eggs safe from Mon 8 February"]), strip_lines(["m" * 50, "x"])
    (1, 3)
    """
    lines, left = (0, 0.0)
    for text in texts:
        width = width_em(text) * STRIP + 24
        if width <= left:
            left -= width
            continue
        more = line_count(text, WIDTH / STRIP)
        lines += more
        left = WIDTH + 24 - width if more == 1 else 0.0
    return lines


def _cock_height(cock: Named, size: int, room: float) -> float:
    name = line_count(cock.band, room / size) * size * 1.15
    return name + line_count(cock.said, room / 14) * 18


def foot_height(contents: Contents) -> float:
    """Height of the caution, of the footer below it and of the head of the lines to write on."""
    lines = sum(
        line_count(text, WIDTH / FOOTER / PLAIN) for text in (contents.caution, contents.footer)
    )
    return lines * FOOTER * 1.3 + GAP + 16.0


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
    texts = sum(line_count(text, room / PLAIN) * 1.3 + 0.3 for text in block.texts)
    return (1.9 + block.lines * 1.35 + texts) * body


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
