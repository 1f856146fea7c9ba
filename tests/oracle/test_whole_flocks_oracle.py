"""Whole flocks drawn against full enumeration: of who the parents are, and of all states given it.

Given the parents, loci that are not linked have nothing to do with each other. So the chance of a
set of parents is its written one times, for each locus, the chance of what was seen there; and
chances of states are means over the sets of parents.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import replace
from itertools import product
from math import prod
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import pytest

from matchmaker.ahead.inherited import Inherited, inherited
from matchmaker.flock.pedigree import Pedigree, Pool
from matchmaker.genetics.genotypes import together
from matchmaker.genetics.genotypes.network import Problem
from matchmaker.genetics.genotypes.observed import Place, Sighting
from matchmaker.genetics.genotypes.together import draw_flocks
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.tables.records import Sex
from tests.oracle.genotype_enumeration import Enumeration

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.genetics.loci.locus import Locus

Parents: TypeAlias = tuple[int, ...]
Flock: TypeAlias = tuple[Parents, tuple[tuple[int, ...], ...]]
"""Sires of the chicks, and copies of every bird at every locus."""

DRAWS = 4000
PLACE = Place(file="seen.csv", row=2, column="what", words="seen")
C, H = Sex.COCK, Sex.HEN


def seen(bird: str, *weights: float) -> Sighting:
    """A sighting with these chances by copies, of a cock; a hen's are the first two of them."""
    return Sighting(bird=bird, weights=(weights, weights), place=PLACE)


PEN = Pedigree(
    pools=(Pool("araucana"), Pool("sussex")),
    bases=((0.0, 0.0), (0.0, 0.0)),
    birds=("A", "B", "D", "X", "Y"),
    sexes=(C, C, H, C, None),
    sires=(((0, 0.5), (1, 0.5)), ((0, 0.5), (1, 0.5)), ((1, 1.0),), *[((2, 0.6), (3, 0.4))] * 2),
    dams=(((1, 1.0),), ((1, 1.0),), ((1, 1.0),), ((4, 1.0),), ((4, 1.0),)),
)
"""Two cocks that may carry, a pure hen, and two chicks of the one cock or the other."""

AUTOSOMAL = replace(catalogue()["O"], linkages=(), dies=())
OTHER = replace(catalogue()["lav"], linkages=(), dies=())
ON_THE_Z = replace(catalogue()["S"], linkages=(), dies=())
ON_THE_Z_TOO = replace(catalogue()["K"], linkages=(), dies=())

SEEN = {
    "O": (seen("X", 0.1, 0.9, 0.9),),
    "lav": (seen("A", 0.8, 0.3, 0.2), seen("Y", 0.2, 0.9, 0.9)),
    "S": (Sighting(bird="Y", weights=((0.5, 0.4, 0.1), (0.9, 0.6)), place=PLACE),),
    "K": (Sighting(bird="Y", weights=((0.2, 0.4, 0.5), (0.1, 0.9)), place=PLACE),),
}


def problem(pedigree: Pedigree, locus: Locus) -> Problem:
    return Problem(
        pedigree=pedigree, recurrent="sussex", loci=(locus,), evidence=(SEEN[locus.symbol],)
    )


def with_sires(pedigree: Pedigree, sires: Parents) -> Pedigree:
    """The pedigree with the sires of the last birds certain."""
    known = len(pedigree.birds) - len(sires)
    certain = tuple(((pedigree.first_bird + sire, 1.0),) for sire in sires)
    return replace(pedigree, sires=(*pedigree.sires[:known], *certain), clutches=())


def enumerated(pedigree: Pedigree, loci: Sequence[Locus], *, together: bool) -> dict[Flock, float]:
    """Chance of every set of sires of the two chicks with all copies at all loci."""
    chances = {0: 0.6, 1: 0.4}
    sets = [(one, one) for one in chances] if together else list(product(chances, repeat=2))
    found: dict[Flock, float] = defaultdict(float)
    for sires in sets:
        prior = chances[sires[0]] if together else prod(chances[sire] for sire in sires)
        certain = with_sires(pedigree, sires)
        tables = [Enumeration(certain, one, SEEN[one.symbol], "sussex").weights for one in loci]
        for states in product(*(table.items() for table in tables)):
            sexes = {tuple(sex for sex, _ in birds) for birds, _ in states}
            if len(sexes) > 1:
                continue  # a bird is of one sex at all its loci
            weight = prior * prod(one for _, one in states)
            copies = tuple(
                tuple(sum(held.count((locus.symbol,)) for _, held in (bird,)) for bird in birds)
                for locus, (birds, _) in zip(loci, states, strict=True)
            )
            found[sires, copies] += weight
    total = sum(found.values())
    return {flock: weight / total for flock, weight in found.items()}


def drawn(pedigree: Pedigree, loci: Sequence[Locus]) -> Inherited:
    problems, own = [problem(pedigree, locus) for locus in loci], streams()
    return inherited(problems, draw_flocks(problems, own, 1), own)


def streams() -> list[np.random.Generator]:
    return [np.random.default_rng((3, draw)) for draw in range(DRAWS)]


def flocks_of(found: Inherited) -> Counter[Flock]:
    """How often each set of sires with all copies was drawn."""
    named = (found.alleles == 1).sum(axis=2)
    return Counter(
        (tuple(sires), tuple(map(tuple, copies.T.tolist())))
        for sires, copies in zip(found.parents[:, -2:, 0].tolist(), named, strict=True)
    )


def check(counts: Counter[Flock], expected: dict[Flock, float]) -> None:
    """Chi-square of the counts of drawn flocks, those of few pooled; five SDs are too many."""
    assert set(counts) <= {flock for flock, chance in expected.items() if chance > 0}
    often = {flock: DRAWS * chance for flock, chance in expected.items() if DRAWS * chance >= 5}
    rest = DRAWS - sum(often.values())
    terms = [(counts[flock] - mean) ** 2 / mean for flock, mean in often.items()]
    if rest >= 5:
        terms.append((DRAWS - sum(counts[flock] for flock in often) - rest) ** 2 / rest)
    freedom = len(terms) - 1
    assert freedom > 5
    assert sum(terms) < freedom + 5 * (2 * freedom) ** 0.5


@pytest.mark.parametrize(
    "loci",
    [(AUTOSOMAL,), (AUTOSOMAL, OTHER), (ON_THE_Z, ON_THE_Z_TOO)],
    ids=["one locus", "two loci", "two on the Z"],
)
def test_parents_and_states_are_drawn_as_often_as_they_are_likely(loci: tuple[Locus, ...]) -> None:
    check(flocks_of(drawn(PEN, loci)), enumerated(PEN, loci, together=False))


def test_chicks_of_a_clutch_are_drawn_with_one_sire() -> None:
    clutch = replace(PEN, clutches=(None, None, None, 0, 0))
    loci = (AUTOSOMAL, OTHER)
    check(flocks_of(drawn(clutch, loci)), enumerated(clutch, loci, together=True))


def test_where_exact_work_is_out_of_reach_chains_tell_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuse(_network: object, _cells: int) -> None:
        raise TooTangledError(1)

    monkeypatch.setattr(together, "reduced", refuse)
    loci = (AUTOSOMAL,)
    problems = [problem(PEN, locus) for locus in loci]
    own = streams()
    flocks = draw_flocks(problems, own, 1)
    assert flocks.method == "sampled"
    counts = flocks_of(inherited(problems, flocks, own))
    for flock, chance in enumerated(PEN, loci, together=False).items():
        assert counts[flock] / DRAWS == pytest.approx(chance, abs=0.03)


def test_loci_too_many_to_be_drawn_in_one_are_drawn_given_the_parents(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Nothing was seen that tells of the parents: the order of drawing then makes no difference."""
    monkeypatch.setattr(together, "CELLS_TOGETHER", 0)
    monkeypatch.setattr(f"{__name__}.DRAWS", 1500)
    monkeypatch.setitem(SEEN, "S", ())
    monkeypatch.setitem(SEEN, "K", ())
    loci = (ON_THE_Z, ON_THE_Z_TOO)
    flocks = draw_flocks([problem(PEN, locus) for locus in loci], streams(), 1)
    assert flocks.given_parents == ("K",)
    check(flocks_of(drawn(PEN, loci)), enumerated(PEN, loci, together=False))


def test_parents_that_do_not_fit_what_was_seen_of_a_later_locus_give_way(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Only one of the cocks has the second gene, and a chick has it."""
    monkeypatch.setattr(together, "CELLS_TOGETHER", 0)
    monkeypatch.setattr(f"{__name__}.DRAWS", 200)
    told = [seen("A", 0, 1, 1), seen("B", 1, 0, 0), seen("X", 0, 1, 1)]
    monkeypatch.setitem(SEEN, "lav", tuple(told))
    monkeypatch.setitem(SEEN, "O", (*SEEN["O"], *[seen("X", 0.5, 0.5, 0.5)] * 3))
    found = drawn(PEN, (AUTOSOMAL, OTHER))
    assert set(found.parents[:, 3, 0]) == {0}


def test_no_parents_that_fit_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawn once, the sire is the one who cannot be now and then, and no other draw is there."""
    monkeypatch.setattr(together, "CELLS_TOGETHER", 0)
    told = [seen("A", 0, 1, 1), seen("B", 1, 0, 0), seen("X", 0, 1, 1)]
    monkeypatch.setitem(SEEN, "lav", tuple(told))
    monkeypatch.setitem(SEEN, "O", (*SEEN["O"], *[seen("X", 0.5, 0.5, 0.5)] * 3))
    problems = [problem(PEN, AUTOSOMAL), problem(PEN, OTHER)]
    refused = 0
    for stream in streams()[:20]:
        try:
            flocks = draw_flocks(problems, [stream], 1)
        except TooTangledError as error:
            assert "no parents drawn for some loci fit the others" in str(error)  # noqa: PT017
            refused += 1
        else:
            assert flocks.chosen[3, C].tolist() == [0]
    assert 0 < refused < 20
