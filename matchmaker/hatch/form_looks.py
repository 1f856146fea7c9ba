"""What the locus columns of a form say: of each chick of a row, or counted over a set."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.hatch.told import Counted
from matchmaker.tables.cells import read_cell
from matchmaker.tables.reading import Hints
from matchmaker.tables.schema import Column, Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from typing import TypeAlias

    Classes: TypeAlias = tuple[tuple[str, int | None], ...]
    Fault: TypeAlias = Callable[[int, str, str, str, str], None]

_CELL: Final = Column(name="what", kind=Kind.CLASSES, meaning="classes with counts")


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """The locus columns of one row, for ``bands`` chicks.

    ``of_set`` says that the row tells of the whole set (how many hatched, for example), so that
    its counts are of all chicks and not of the banded ones in it alone.
    """

    row: int
    cells: Mapping[str, str]
    bands: int
    of_set: bool

    def of_each(self) -> dict[str, str]:
        """Return what was seen of every one of the row's chicks.

        Examples
        --------
        >>> Looks(row=2, cells={"P": "pea"}, bands=8, of_set=True).of_each()
        {'P': 'pea'}
        >>> Looks(row=2, cells={"P": "8 pea"}, bands=8, of_set=False).of_each()
        {'P': 'pea'}
        >>> Looks(row=2, cells={"P": "3 pea, 5 single"}, bands=8, of_set=False).of_each()
        {}
        """
        if self.bands == 1:
            return dict(self.cells)
        all_of_them = {None} if self.of_set else {None, self.bands}
        read = {locus: _classes(text) for locus, text in self.cells.items() if self.bands}
        return {
            locus: classes[0][0]
            for locus, classes in read.items()
            if len(classes) == 1 and classes[0][1] in all_of_them
        }

    def counted(self, fault: Fault) -> Iterator[tuple[str, Counter[str]]]:
        """Yield the loci whose cells are counts, with the chicks of each class."""
        each = self.of_each()
        for locus, text in self.cells.items():
            classes = _classes(text)
            numbers = [number for _, number in classes]
            if locus in each:
                continue
            if not classes or None in numbers:
                problem = "for several chicks each class needs its number"
                fault(self.row, locus, text, problem, "write it as in 9 pea, 4 single")
            elif not self.of_set and sum(n or 0 for n in numbers) > self.bands:
                problem = f"more chicks are counted than the row has bands ({self.bands})"
                fault(self.row, locus, text, problem, "mend it, or count in a row without bands")
            else:
                yield locus, Counter({word: number or 0 for word, number in classes})


def counts_of(rows: Sequence[Looks], fault: Fault) -> Iterator[Counted]:
    """Yield the chicks of a set by class of each locus that is counted, banded ones among them.

    Rows of bands alone count their own chicks and are added up where no row counts the whole set.
    ``fault`` is told row, column, value, problem and mend of what makes no sense.
    """
    whole: dict[str, tuple[int, Counter[str]]] = {}
    parts: dict[str, Counter[str]] = {}
    counted: dict[str, None] = {}
    for one in rows:
        for locus, word in one.of_each().items():
            parts.setdefault(locus, Counter())[word] += one.bands
        for locus, counts in one.counted(fault):
            counted[locus] = None
            if not one.of_set:
                parts.setdefault(locus, Counter()).update(counts)
            elif whole.setdefault(locus, (one.row, counts))[0] != one.row:
                problem = f"row {whole[locus][0]} counts the whole hatch already"
                fault(one.row, locus, one.cells[locus], problem, "write the sum into one of them")
    for locus in counted:
        total = whole[locus][1] if locus in whole else parts[locus]
        yield from (Counted(locus=locus, words=word, chicks=n) for word, n in total.items())


def _classes(text: str) -> Classes:
    reading = read_cell(text, _CELL, Hints())
    return reading.value if isinstance(reading.value, tuple) else ()
