"""What the chicks of a set should look like, by what was known of their parents before it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.genotypes.posterior import genotype_view
from matchmaker.genetics.genotypes.transmission import Stretch, chick_table
from matchmaker.genetics.genotypes.words import meaning, weights
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from fractions import Fraction

    from numpy.typing import NDArray

    from matchmaker.genetics.genotypes.genotype import Genotypes
    from matchmaker.genetics.loci.locus import Locus

    Array = NDArray[np.float64]

MOST_TOGETHER: Final = 4096
"""Chances of the classes that the parents may make together; beyond it these are drawn."""

MOST_SIRES: Final = 3**6
"""The same for the genotypes of the possible sires."""

DRAWN: Final = 2000
SEED: Final = 20270302

OTHERWISE: Final = "another look"
"""The class of chicks that look like none of the classes counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Classes:
    """The classes chicks were counted in, each with its chance by genotype of a son or daughter.

    ``sons`` is (genotypes of a cock, classes), ``daughters`` the same for a hen. The last class
    is ``OTHERWISE`` where those counted leave a look out. ``sexed`` holds classes by sex: sons of
    each look first, then daughters.
    """

    locus: Locus
    names: tuple[str, ...]
    counts: tuple[int, ...]
    sons: Array
    daughters: Array
    sexed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """Chances of the classes, one row for each thing the parents may be together, with weights.

    ``approximate`` says that dams were taken as independent of each other, or what the parents may
    be was drawn.
    """

    chances: Array
    weights: Array
    approximate: bool = False

    @property
    def mean(self) -> tuple[float, ...]:
        """The chance of each class for a chick."""
        return tuple((self.weights @ self.chances).tolist())


def classes_of(
    locus: Locus, counted: Mapping[str, int], by_sex: Mapping[Sex, Mapping[str, int]] | None = None
) -> Classes | None:
    """Return the classes of a count, ``None`` where they overlap and nothing can be expected.

    Words that mean the same make one class. ``by_sex`` has the chicks by their sex where every
    one is known, which tells more on the Z.
    """
    together: dict[object, list[str]] = defaultdict(list)
    for words in counted:
        together[meaning(locus, words)].append(words)
    names = [listed[0] for listed in together.values()]
    tables = [weights(locus, meant) for meant in together if meant is not None]  # type: ignore[arg-type]
    sons, daughters = (np.array([table[at] for table in tables]).T for at in (0, 1))
    if max(sons.sum(axis=1).max(), daughters.sum(axis=1).max()) > 1 + 1e-9:
        return None
    left = [1.0 - side.sum(axis=1) for side in (sons, daughters)]
    if max(side.max() for side in left) > 1e-9:
        names.append(_left_out(locus, set(together)))
        together[OTHERWISE] = []
        sons, daughters = (
            np.column_stack([side, np.maximum(rest, 0.0)])
            for side, rest in zip((sons, daughters), left, strict=True)
        )
    groups = list(together.values())
    if by_sex is not None and locus.z_linked:
        return _sexed(locus, names, (sons, daughters), [_sums(by_sex[sex], groups) for sex in Sex])
    return Classes(
        locus=locus,
        names=tuple(names),
        counts=tuple(_sums(counted, groups)),
        sons=sons,
        daughters=daughters,
    )


def _left_out(locus: Locus, counted: set[object]) -> str:
    """What the chicks look like that fall into no class counted, if there is but one such look."""
    of_looks = (locus.shown_words, locus.one_copy_words, locus.hidden_words)
    listed = [allele.words for allele in locus.series] or of_looks
    seen: set[object] = set().union(*(one for one in counted if isinstance(one, frozenset)))
    looks = [(own[0], meaning(locus, own[0]) or frozenset()) for own in listed if own]
    words = [word for word, meant in looks if not seen.issuperset(meant)]
    return words[0] if len(words) == 1 else OTHERWISE


def _sums(counted: Mapping[str, int], groups: Sequence[Sequence[str]]) -> list[int]:
    return [sum(counted.get(words, 0) for words in listed) for listed in groups]


def _sexed(
    locus: Locus, names: list[str], tables: tuple[Array, Array], counts: list[list[int]]
) -> Classes:
    """Classes by sex: a son falls into none of the daughters'."""
    sons, daughters = tables
    return Classes(
        locus=locus,
        names=tuple(f"{name} {sex}" for sex in ("son", "daughter") for name in names),
        counts=(*counts[0], *counts[1]),
        sons=np.hstack([sons, np.zeros_like(sons)]),
        daughters=np.hstack([np.zeros_like(daughters), daughters]),
        sexed=True,
    )


def by_parents(classes: Classes) -> Array:
    """P(class of a living chick | genotype of sire, of dam), shape (sire, dam, classes).

    Sons and daughters are taken as half each.
    """
    one = Stretch((classes.locus.inheritance,))
    gametes = one.gametes(Sex.COCK), one.gametes(Sex.HEN)
    sons, daughters = (
        chick_table(one, sex, *gametes) @ looks / 2
        for sex, looks in ((Sex.COCK, classes.sons), (Sex.HEN, classes.daughters))
    )
    found: Array = sons + daughters
    return found


def genotypes_of_bird(genotypes: Genotypes, bird: str, sex: Sex) -> Array:
    """P(each genotype of its sex) of one bird."""
    row: Array = genotypes.posterior.of(bird) @ _view(genotypes, sex)
    return row


def expectation(
    genotypes: Genotypes,
    classes: Classes,
    sires: Sequence[tuple[str, Fraction]],
    dams: Sequence[tuple[str, Fraction]],
) -> Expectation:
    """Return what is to be expected of the chicks of these parents.

    What the parents may be is the same for all chicks of a hatch, so it is kept apart: each row
    is one way. Exact for one sire and one dam, related or not; of several, dams are taken as
    independent of each other given the sire, sires as independent.
    """
    table = _without_childless(by_parents(classes))
    several = len(sires) + len(dams) > 2
    ways = _together(genotypes, sires, dams)
    shares = [[float(w) for _, w in side] for side in (sires, dams)]
    merged = _summed(table, ways, shares)
    drawn = merged is None
    if merged is None:
        merged = defaultdict(float)
        for weight, his, hers in _draws(ways.of_cocks, ways.given):
            rows = _rows(table, his, shares[0])
            mixed = sum(w * rows[at] for w, at in zip(shares[1], hers, strict=True))
            merged[tuple(np.round(mixed, 12).tolist())] += weight
    chances = np.array(list(merged))
    chances /= chances.sum(axis=1, keepdims=True)
    weights_of = np.array(list(merged.values()))
    return Expectation(
        chances=chances,
        weights=weights_of / weights_of.sum(),
        approximate=drawn or (several and ways.open > 1),
    )


def _rows(table: Array, his: Sequence[int], shares: Sequence[float]) -> Array:
    """Chances of the classes by the genotype of a dam, the sires being these."""
    found: Array = sum(share * table[at] for share, at in zip(shares, his, strict=True))
    return found


def _summed(
    table: Array, ways: _Ways, shares: Sequence[Sequence[float]]
) -> dict[tuple[float, ...], float] | None:
    """All that the parents may be together, by what it makes of the chances of the classes.

    Dams are added one by one, and what comes to the same is told once: of many hens alike only
    how many of them carry matters. ``None`` where too much is left to tell apart.
    """
    options = [np.flatnonzero(row).tolist() for row in ways.of_cocks]
    if prod(map(len, options)) > MOST_SIRES:
        return None
    found: dict[tuple[float, ...], float] = defaultdict(float)
    for his in product(*options):
        own = prod(float(row[at]) for row, at in zip(ways.of_cocks, his, strict=True))
        rows = _rows(table, his, shares[0])
        sums = np.zeros((1, table.shape[2]))
        chances = np.array([own])
        for dam, share in zip(ways.given, shares[1], strict=True):
            held = np.flatnonzero(dam[:, his[0]])
            spread = (sums[:, None] + share * rows[held]).reshape(-1, sums.shape[1])
            weight = np.outer(chances, dam[held, his[0]]).ravel()
            _, first, same = np.unique(
                spread.round(9), axis=0, return_index=True, return_inverse=True
            )
            sums, chances = spread[first], np.bincount(same.ravel(), weight)
            if len(sums) > MOST_TOGETHER:
                return None
        for row, chance in zip(np.round(sums, 12).tolist(), chances.tolist(), strict=True):
            found[tuple(row)] += chance
    return found if len(found) <= MOST_TOGETHER else None


def _without_childless(table: Array) -> Array:
    """Two parents who can have no living chick count as if they had any look alike."""
    total = table.sum(axis=-1, keepdims=True)
    return np.where(total > 0, table, 1.0 / table.shape[-1])


@dataclass(frozen=True, slots=True)
class _Ways:
    """What the parents may be: each sire, each dam given the first sire; how many are not sure."""

    of_cocks: list[Array]
    given: list[Array]
    open: int


def _together(
    genotypes: Genotypes,
    sires: Sequence[tuple[str, Fraction]],
    dams: Sequence[tuple[str, Fraction]],
) -> _Ways:
    views = _view(genotypes, Sex.HEN), _view(genotypes, Sex.COCK)
    hens, cocks = [band for band, _ in dams], [band for band, _ in sires]
    of_cocks = [genotypes.posterior.of(band) @ views[1] for band in cocks]
    if len(cocks) == 1:
        joint = genotypes.posterior.joint(hens, cocks, views)[:, 0]
        given = [_given_cock(joint[at]) for at in range(len(hens))]
    else:
        alone = [genotypes.posterior.of(band) @ views[0] for band in hens]
        given = [np.tile(row[:, None], (1, len(of_cocks[0]))) for row in alone]
    open_birds = sum(int(np.count_nonzero(row) > 1) for row in of_cocks)
    open_birds += sum(int((np.count_nonzero(table, axis=0) > 1).any()) for table in given)
    return _Ways(of_cocks, given, open_birds)


def _given_cock(joint: Array) -> Array:
    """P(hen's genotype | cock's), columns of cocks' genotypes; a cock's that is not keeps 0."""
    total = joint.sum(axis=0, keepdims=True)
    return np.divide(joint, total, out=np.zeros_like(joint), where=total > 0)


def _draws(
    of_cocks: list[Array], given: list[Array]
) -> Iterator[tuple[float, tuple[int, ...], tuple[int, ...]]]:
    rng = np.random.default_rng(SEED)
    for _ in range(DRAWN):
        his = tuple(int(rng.choice(len(row), p=row / row.sum())) for row in of_cocks)
        columns = [table[:, his[0]] for table in given]
        hers = tuple(int(rng.choice(len(c), p=c / c.sum())) for c in columns)
        yield 1.0 / DRAWN, his, hers


def _view(genotypes: Genotypes, sex: Sex) -> Array:
    """Which genotype of one sex each state has; the two sexes differ on the Z alone."""
    locus = genotypes.locus
    view = genotype_view(genotypes.problem.stretch, genotypes.place)
    cocks = len(locus.inheritance.genotypes(Sex.COCK))
    if not locus.z_linked:
        return view
    return view[:, :cocks] if sex is Sex.COCK else view[:, cocks:]
