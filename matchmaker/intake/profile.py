"""What the cells of a column are, taken together."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from matchmaker.intake.shape import Shape, shape_of

if TYPE_CHECKING:
    from collections.abc import Callable, Container, Mapping

    from matchmaker.intake.model import Block

SAMPLE: Final = 400
"""So many different cells of a column are looked at, spread evenly over it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """The filled cells of one column of a block, each with how often it stands there.

    ``sample`` are so many of them as are looked at one by one, ``words`` the same as ``base``
    writes them.
    """

    at: int
    header: str
    rows: int
    cells: Mapping[str, int]
    sample: Mapping[str, int]
    words: Mapping[str, int]

    @property
    def filled(self) -> int:
        """How many rows have a cell here."""
        return sum(self.cells.values())

    @property
    def different(self) -> float:
        """Share of the filled cells that are different from all others."""
        return len(self.cells) / self.filled if self.cells else 0.0

    def share(self, holds: Callable[[str], bool]) -> float:
        """Return the share of the filled cells of which something holds."""
        total = sum(self.sample.values())
        return sum(n for cell, n in self.sample.items() if holds(cell)) / total if total else 0.0

    def share_of_words(self, words: Container[str]) -> float:
        """Return the share of the filled cells that are one of these words."""
        total = sum(self.words.values())
        return sum(n for word, n in self.words.items() if word in words) / total if total else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the book is known to hold so far: bands with their sex (or ""), pens and loci.

    ``words`` are the symbols, names and classes of all loci, as ``base`` writes them.
    """

    bands: Mapping[str, str] = field(default_factory=dict)
    pens: frozenset[str] = frozenset()
    loci: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    words: frozenset[str] = frozenset()


def profiles(block: Block) -> tuple[Profile, ...]:
    """Return the profile of every column of a block."""
    return tuple(_profile(block, at, header) for at, header in enumerate(block.headers))


def _profile(block: Block, at: int, header: str) -> Profile:
    counts = Counter(row.cells[at] for row in block.rows)
    cells = {cell: n for cell, n in counts.items() if shape_of(cell) is not Shape.BLANK}
    step = -(-len(cells) // SAMPLE) or 1
    sample = dict(list(cells.items())[::step])
    words: Counter[str] = Counter()
    for cell, count in sample.items():
        words[base(cell)] += count
    rows = len(block.rows)
    return Profile(at=at, header=header, rows=rows, cells=cells, sample=sample, words=words)


def base(cell: str) -> str:
    """A cell without case, brackets, doubts and spaces around.

    Examples
    --------
    >>> base("Cockerel?"), base("(pea)")
    ('cockerel', 'pea')
    """
    return cell.casefold().rstrip("?!. ").strip("()[] ")
