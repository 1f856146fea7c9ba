"""Counted markers of a set beside what was expected of its parents."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.hatch.exact import Fit, exact_fit
from matchmaker.hatch.expected import Classes, Expectation, classes_of, expectation
from matchmaker.hatch.explanations import Explanation, explain_hatch
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.genotypes.inferred import Inferred
    from matchmaker.hatch.parents import Parents
    from matchmaker.hatch.told import Told

DOUBTFUL: Final = 0.05
"""A hatch that comes by chance less often than this is looked into."""

COCKS_MOST: Final = 20
"""Other cocks that are looked at as possible sires."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LocusFit:
    """One locus of one set; ``classes`` is ``None`` where the words overlap: no test is made.

    ``explanations`` are there where the hatch fits badly.
    """

    locus: str
    told: Told
    parents: Parents
    classes: Classes | None = None
    expected: Expectation | None = None
    fit: Fit | None = None
    explanations: tuple[Explanation, ...] = ()

    @property
    def poor(self) -> bool:
        """Whether so odd a hatch comes by chance less than once in twenty times."""
        return self.fit is not None and self.fit.p < DOUBTFUL


def fits_of(flock: Flock, before: Inferred, told: Told, parents: Parents) -> tuple[LocusFit, ...]:
    """Return how each locus that was looked at fits, by what was known before this hatch."""
    return tuple(_fit(flock, before, told, parents, locus) for locus in told.loci)


def _fit(flock: Flock, before: Inferred, told: Told, parents: Parents, symbol: str) -> LocusFit:
    genotypes = before.genotypes[symbol]
    classes = classes_of(genotypes.locus, told.whole(symbol), _by_sex(told, symbol))
    if classes is None:
        return LocusFit(locus=symbol, told=told, parents=parents)
    expected = expectation(genotypes, classes, parents.sires, parents.dams)
    fit = exact_fit(
        classes.counts,
        expected.chances.tolist(),
        expected.weights.tolist(),
        split=len(classes.names) // 2 if classes.sexed else 0,
    )
    found = LocusFit(
        locus=symbol, told=told, parents=parents, classes=classes, expected=expected, fit=fit
    )
    if not found.poor:
        return found
    sides, others = (parents.sires, parents.dams), _other_cocks(flock, parents)
    reasons = explain_hatch(genotypes, classes, expected, sides, others)
    return replace(found, explanations=reasons)


def _by_sex(told: Told, symbol: str) -> dict[Sex, Counter[str]] | None:
    """Chicks by sex and class, where the sex of every one that was looked at is known."""
    if told.not_by_band(symbol):
        return None
    looked = [chick for chick in told.chicks if symbol in chick.seen]
    if not looked or any(chick.sex is None for chick in looked):
        return None
    return {sex: Counter(c.seen[symbol] for c in looked if c.sex is sex) for sex in Sex}


def _other_cocks(flock: Flock, parents: Parents) -> list[str]:
    """Cocks that may have come to the hens unseen: those they met before, then those alive then."""
    possible = {band for band, _ in parents.sires}
    met = [one.cock for one in parents.others]
    grown = [
        bird.band
        for bird in flock.birds
        if bird.sex is Sex.COCK
        and (bird.alive_here or (bird.record.left_on or parents.first) > parents.first)
        and bird.hatched is not None
        and bird.hatched.year < parents.first.year
    ]
    return [b for b in dict.fromkeys([*met, *grown]) if b not in possible][:COCKS_MOST]
