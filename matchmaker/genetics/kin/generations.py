"""Generations of a pedigree: how deep each bird stands, and how fast inbreeding rises."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from statistics import fmean
from typing import TYPE_CHECKING

from matchmaker.genetics.kin.kinship import kinship_matrix

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.flock.pedigree import Links, Pedigree

DAYS_PER_YEAR = 365.25

SHALLOWEST = 2.0
"""A bird must stand two generations deep to tell of the rate. At 1 it cannot be inbred, and just
above it one close mating would be raised to an absurd power."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GenerationRow:
    """The birds that stand nearest to one generation number, and their mean inbreeding."""

    generation: int
    birds: int
    inbreeding: float


@dataclass(frozen=True, slots=True, kw_only=True)
class InbreedingRate:
    """How fast inbreeding rises per generation, seen from some birds.

    ``per_generation`` is None where no bird stands deep enough to tell. ``birds`` are those that
    do, ``generations`` the mean number of generations behind them.
    """

    per_generation: float | None
    birds: int
    generations: float
    by_generation: tuple[GenerationRow, ...]

    @property
    def effective_size(self) -> float | None:
        """Return 1 / (2 · rate), in birds; None where the rate is unknown or nobody is inbred."""
        return 1.0 / (2.0 * self.per_generation) if self.per_generation else None


@dataclass(frozen=True, slots=True, kw_only=True)
class GenerationInterval:
    """Mean age of the parents, in years, when their chicks hatched; None where nobody knows.

    ``years`` is the mean of the two sexes, each of which passes on half of the genes.
    """

    sires: float | None
    dams: float | None

    @property
    def years(self) -> float | None:
        """Generation interval in years."""
        known = [age for age in (self.sires, self.dams) if age is not None]
        return fmean(known) if known else None


def generation_numbers(pedigree: Pedigree) -> dict[str, float]:
    """Return how many whole generations of ancestors each bird has behind it; founders have 0.

    One more than the mean of its parents, weighted by their probabilities, where what lies before
    a founder counts −1. So a parent that nobody wrote down adds nothing.

    Notes
    -----
    The number of equivalent complete generations, Σ (½)ⁿ over all known ancestors n generations
    back (Maignel, Boichard & Verrier 1996; from memory).

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> cross = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? A B",
    ...     "D ? A C",
    ... )
    >>> generation_numbers(cross)
    {'A': 0.0, 'B': 0.0, 'C': 1.0, 'D': 1.5}
    """
    found = [-1.0] * pedigree.first_bird
    for sires, dams in zip(pedigree.sires, pedigree.dams, strict=True):
        found.append(1.0 + (_mean(found, sires) + _mean(found, dams)) / 2)
    return dict(zip(pedigree.birds, found[pedigree.first_bird :], strict=True))


def inbreeding_since_founders(pedigree: Pedigree, birds: Sequence[str]) -> dict[str, float]:
    """Inbreeding of each bird that arose in this pedigree, all founders taken as unrelated.

    Examples
    --------
    The base kinship of a breed is not counted:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> pair = pedigree_of("A ? sussex sussex", base=0.1)
    >>> inbreeding_since_founders(pair, ["A"])
    {'A': 0.0}
    """
    unrelated = tuple((0.0,) * pedigree.first_bird for _ in pedigree.pools)
    return kinship_matrix(replace(pedigree, bases=unrelated), birds).inbreeding()


def inbreeding_rate(pedigree: Pedigree, birds: Sequence[str]) -> InbreedingRate:
    """Rate of inbreeding per generation behind some birds, from what each has gathered.

    Notes
    -----
    A bird with inbreeding F after t generations lost 1 − (1 − F)^(1/(t − 1)) in each on average;
    the rate is the mean over the birds (individual increase in inbreeding: Gutiérrez, Cervantes &
    Goyache 2009, J Anim Breed Genet 126:327; from memory). In a flock of crosses the rate is that
    of lines that were kept apart and of relatives mated, and a fresh founder lowers it.

    Examples
    --------
    A chick of full sibs lost a quarter in its only generation that could lose:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> sibs = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? A B",
    ...     "D ? A B",
    ...     "E ? C D",
    ... )
    >>> found = inbreeding_rate(sibs, ["E"])
    >>> found.per_generation, found.effective_size
    (0.25, 2.0)
    """
    depth = generation_numbers(pedigree)
    inbreeding = inbreeding_since_founders(pedigree, birds)
    deep = [bird for bird in birds if depth[bird] >= SHALLOWEST]
    rates = [1.0 - (1.0 - inbreeding[bird]) ** (1.0 / (depth[bird] - 1.0)) for bird in deep]
    return InbreedingRate(
        per_generation=fmean(rates) if rates else None,
        birds=len(deep),
        generations=fmean(depth[bird] for bird in deep) if deep else 0.0,
        by_generation=_by_generation(birds, depth, inbreeding),
    )


def _by_generation(
    birds: Iterable[str], depth: Mapping[str, float], inbreeding: Mapping[str, float]
) -> tuple[GenerationRow, ...]:
    groups: defaultdict[int, list[float]] = defaultdict(list)
    for bird in birds:
        groups[int(depth[bird] + 0.5)].append(inbreeding[bird])
    return tuple(
        GenerationRow(generation=generation, birds=len(group), inbreeding=fmean(group))
        for generation, group in sorted(groups.items())
    )


def generation_interval(
    pedigree: Pedigree, hatched: Mapping[str, dt.date | None], birds: Sequence[str]
) -> GenerationInterval:
    """Mean age of the parents of ``birds`` when these hatched, by the dates in ``hatched``.

    A parent counts by its probability; birds and parents without a date are left out.

    Examples
    --------
    >>> import datetime as dt
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> cross = pedigree_of(
    ...     "A ? sussex sussex",
    ...     "B ? sussex sussex",
    ...     "C ? A B",
    ... )
    >>> dates = {"A": dt.date(2024, 5, 1), "B": dt.date(2023, 5, 1), "C": dt.date(2025, 5, 1)}
    >>> found = generation_interval(cross, dates, ["C"])
    >>> round(found.sires, 2), round(found.dams, 2), round(found.years, 2)
    (1.0, 2.0, 1.5)
    """
    dates = [None] * pedigree.first_bird + [hatched.get(bird) for bird in pedigree.birds]
    at = {bird: place for place, bird in enumerate(pedigree.birds)}
    return GenerationInterval(
        sires=_mean_age(dates, [(hatched.get(b), pedigree.sires[at[b]]) for b in birds]),
        dams=_mean_age(dates, [(hatched.get(b), pedigree.dams[at[b]]) for b in birds]),
    )


def _mean_age(
    dates: Sequence[dt.date | None], families: Sequence[tuple[dt.date | None, Links]]
) -> float | None:
    ages = [
        (chance, (hatched - born).days / DAYS_PER_YEAR)
        for hatched, links in families
        for node, chance in links
        if hatched is not None and (born := dates[node]) is not None
    ]
    total = sum(chance for chance, _ in ages)
    return sum(chance * age for chance, age in ages) / total if total else None


def _mean(values: Sequence[float], links: Links) -> float:
    return sum(chance * values[node] for node, chance in links)
