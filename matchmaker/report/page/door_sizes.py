"""What stands on a pen sheet, and how much of the page it takes at a letter size.

The page is the smaller of A4 and US Letter in each direction, less 12 mm on every side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.report.page.door_text import PLAIN, line_count, width_em

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

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
MANY: Final = {0: 60, 1: 60, 2: 48}
"""The largest letters of a cock by the number of cocks in the pen; of more 36."""

BESIDE: Final = 48
"""The smallest letters of a cock who stands beside his pen's name."""

STRIP: Final = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Letter sizes of hens and of the text, lines to write on at least, most for pen and cock."""

    hen: int = 40
    body: int = 12
    lines: int = 3
    pen: int = PEN[0]
    cock: int = COCK[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A bird with what is said beside its band."""

    band: str
    said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A part of the text: a heading, a list of words with a number each, sentences.

    ``warns`` says that it must not be overlooked.
    """

    title: str
    items: tuple[tuple[str, str], ...] = ()
    texts: tuple[str, ...] = ()
    warns: bool = False

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


def pen_size(pen: str, most: int = PEN[0]) -> int:
    """The largest letters in which a pen's name stands on one line; the smallest if it wraps.

    Examples
    --------
    >>> pen_size("7"), pen_size("Orchard")
    (96, 96)
    """
    sizes = (size for size in PEN if size <= most and width_em(pen) * size <= WIDTH)
    return next(sizes, min(most, PEN[-1]))


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
    return (sizes or [most])[-1], beside >= WIDTH / 2


def head_height(contents: Contents, step: Step | None = None) -> float:
    """Height of pen, cocks and the strip below them, in points."""
    step = step or Step()
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


def hen_room(columns: int) -> float:
    """Width of one of so many columns of hens, in points."""
    return (WIDTH - (columns - 1) * 12) / columns


def _cell(hen: Named, size: int, columns: int) -> float:
    room = hen_room(columns)
    name = line_count(hen.band, room / size) * size * 1.15
    if not hen.said:
        return name + 2
    if width_em(hen.band) * size + width_em(hen.said) * LABEL + 8 <= room:
        return name + 2
    return name + line_count(hen.said, room / LABEL) * LABEL * 1.3 + 2


def height_of(blocks: Iterable[Block], body: int) -> float:
    """Height of blocks below each other in one of two columns, in points."""
    return sum(block_height(block, body) for block in blocks)


def block_height(block: Block, body: int) -> float:
    """Height of a block in one of two columns, in points."""
    room = (WIDTH - 18) / 2 / body
    texts = sum(line_count(text, room / PLAIN) * 1.3 + 0.3 for text in block.texts)
    return (1.9 + block.lines * 1.35 + texts) * body
