"""Tables that the two small farms have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

from _generator.files import number

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterable, Iterator

    from _generator.book import Bird, Book
    from _generator.files import Row
    from _generator.mating import Pen
    from _generator.measure import Sheet


def parent(bird: Bird | None, cell: str | None) -> str:
    """Return what the keeper wrote for a parent, else its band, else nothing."""
    if cell is not None:
        return cell
    return bird.band if bird else ""


def plan_rows(pens: Iterable[Pen]) -> Iterator[Row]:
    """Rows of ``plan.csv``, a hen a row."""
    for pen in pens:
        for hen in pen.hens:
            yield (pen.pen, pen.line, pen.cock.band, hen.band, pen.why)


def score_rows(sheet: Sheet, day: Callable[[dt.date], str], decimal: str = ".") -> Iterator[Row]:
    """Rows of ``scores.csv`` in order of their days; ``day`` writes a date."""
    names = [trait.name for trait in sheet.book.traits]
    for band, on, group, got in sorted(sheet.rows, key=lambda row: (row[1], row[0])):
        cells = [number(got[name]) if name in got else "" for name in names]
        yield (band, day(on), group, *(cell.replace(".", decimal) for cell in cells))


def trait_names(book: Book) -> list[str]:
    """Return the headers of the trait columns."""
    return [trait.name for trait in book.traits]
