"""How closely a flock is related within, and how many birds it is worth by its cocks and hens."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.kin.kinship import KinshipMatrix


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineKinship:
    """Mean kinship within and between lines, shape (lines, lines).

    Within a line every bird counts with itself too, as alleles drawn with replacement do: a line
    of one bird has that bird's self-kinship.
    """

    lines: tuple[str, ...]
    birds: tuple[int, ...]
    values: Matrix

    def within(self, line: str) -> float:
        """Mean kinship of a line's birds, each with itself included."""
        return self.between(line, line)

    def between(self, first: str, second: str) -> float:
        """Mean kinship of the birds of one line with those of another."""
        return float(self.values[self.lines.index(first), self.lines.index(second)])


def line_kinship(kinship: KinshipMatrix, line_of: Mapping[str, str]) -> LineKinship:
    """Mean kinship within and between the lines of the birds that ``line_of`` names.

    Raises
    ------
    ValueError
        If a bird is not in the kinship matrix.

    Examples
    --------
    >>> from matchmaker.genetics.kin.kinship import KinshipMatrix
    >>> sisters = KinshipMatrix(
    ...     birds=("A", "B", "C"),
    ...     values=np.array([[0.5, 0.25, 0.0], [0.25, 0.5, 0.0], [0.0, 0.0, 0.5]]),
    ... )
    >>> lines = line_kinship(sisters, {"A": "Alder", "B": "Alder", "C": "Birch"})
    >>> lines.within("Alder"), lines.between("Alder", "Birch")
    (0.375, 0.0)
    """
    lines = tuple(sorted(set(line_of.values())))
    rows = [kinship.position(bird) for bird in line_of]
    belongs = np.array([[line == own for line in lines] for own in line_of.values()], dtype=float)
    weights = belongs.reshape(len(rows), len(lines))
    sizes = weights.sum(axis=0)
    means = weights.T @ kinship.values[np.ix_(rows, rows)] @ weights / np.outer(sizes, sizes)
    means.flags.writeable = False
    return LineKinship(lines=lines, birds=tuple(int(size) for size in sizes), values=means)


@dataclass(frozen=True, slots=True)
class GeneDiversity:
    """What is left of the founders' variety in some birds, by their mean kinship.

    ``mean_kinship`` counts every bird with itself too. ``genome_equivalents`` is the number of
    unrelated birds that would have the same mean kinship. It is not the founder genome equivalent
    of Lacy 1989 (``founders.FounderGenes``): full sibs of one pair, however many, never exceed 2
    here and there, but 2 sibs make 4/3 here and 3/2 there.
    """

    birds: int
    mean_kinship: float

    @property
    def gene_diversity(self) -> float:
        """Chance that two alleles drawn from the birds differ, if all the founders' did."""
        return 1.0 - self.mean_kinship

    @property
    def genome_equivalents(self) -> float:
        """One over twice the mean kinship, in birds."""
        return 1.0 / (2.0 * self.mean_kinship)


def gene_diversity(kinship: KinshipMatrix, birds: Sequence[str]) -> GeneDiversity | None:
    """Gene diversity of some birds, each as good as any other; None if there are none.

    Notes
    -----
    Gene diversity 1 − mean kinship and the number 1 / (2 mean kinship): Lacy 1995, Zoo Biol
    14:565 (from memory).

    Raises
    ------
    ValueError
        If a bird is not in the kinship matrix.

    Examples
    --------
    Two unrelated birds:

    >>> from matchmaker.genetics.kin.kinship import KinshipMatrix
    >>> pair = KinshipMatrix(birds=("A", "B"), values=np.array([[0.5, 0.0], [0.0, 0.5]]))
    >>> found = gene_diversity(pair, ["A", "B"])
    >>> found.gene_diversity, found.genome_equivalents
    (0.75, 2.0)
    """
    if not birds:
        return None
    rows = [kinship.position(bird) for bird in birds]
    return GeneDiversity(len(rows), float(kinship.values[np.ix_(rows, rows)].mean()))


def effective_size_by_sexes(cocks: int, hens: int) -> float:
    """Return 4 · cocks · hens / (cocks + hens), in birds; 0 where one sex is missing.

    The number of birds, half of each sex and mated at random, in which as much would be lost by
    chance in one generation. It supposes that birds of one sex leave equally many young but for
    chance, and does not look at the pedigree.

    Notes
    -----
    Wright 1931, Genetics 16:97 (citation from memory; the formula was read in K. Christensen,
    Population Genetics, KVL Copenhagen, ch. 3.6).

    Examples
    --------
    >>> round(effective_size_by_sexes(2, 10), 3)
    6.667
    """
    return 4.0 * cocks * hens / (cocks + hens) if cocks and hens else 0.0


def rate_of_size(effective_size: float) -> float | None:
    """Rate of inbreeding per generation, 1 / (2 · effective size); None for a size of 0.

    Examples
    --------
    >>> rate_of_size(20.0)
    0.025
    """
    return 1.0 / (2.0 * effective_size) if effective_size else None
