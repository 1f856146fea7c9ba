"""The kinship of a group of birds as sums of squares over the pedigree, ready for the program.

A breeding value is a weighted sum of what each forebear was dealt anew, so the relationship matrix
is A = T D Tᵀ with a sparse T (Henderson 1976, Biometrics 32:69; Quaas 1976, Biometrics 32:949),
and kinship is half of it. For matings v that makes vᵀKv = Σ within_a g_a² with g = Tᵀv, where g_a
is what the birds chosen have between them of forebear a: a term for each forebear instead of one
for each pair of birds.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker.flock.pedigree import Pedigree
from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits.kindred import WITHIN_MIN, kindred_of
from matchmaker.plan.posing.problem import GroupKinship

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Links
    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.kindred import Kindred


def group_kinship(study: Study, birds: Sequence[str]) -> GroupKinship | None:
    """Terms, limit and price of the kinship of a group, ``None`` where neither is asked for.

    ``birds`` are all that may be chosen. The limit is ``limits.group_kinship_max``; the price,
    ``limits.kinship_price``, is in wanted chicks for 0.01 of kinship.

    Raises
    ------
    KeyError
        If a bird is not in the pedigree.
    """
    limits = study.flock.settings.limits
    if limits.group_kinship_max is None and limits.kinship_price is None:
        return None
    return terms_of_pedigree(
        study.flock.pedigree,
        birds,
        limit=limits.group_kinship_max,
        price=limits.kinship_price,
    )


def kinship_terms(study: Study, birds: Sequence[str]) -> GroupKinship:
    """Return the terms of the kinship of a group, without limit or price.

    Raises
    ------
    KeyError
        If a bird is not in the pedigree.
    """
    return terms_of_pedigree(study.flock.pedigree, birds)


def terms_of_pedigree(
    pedigree: Pedigree,
    birds: Sequence[str],
    *,
    limit: float | None = None,
    price: float | None = None,
) -> GroupKinship:
    """Return the terms of the kinship of ``birds`` out of all their possible forebears.

    Notes
    -----
    The unknowns are those of merit (``kindred``): roots for what pools of founders have in common,
    birds, and the one unknown parent of each clutch. Own parts of nothing, which merit raises a
    little so that its matrix has an inverse, are nothing here.

    Raises
    ------
    KeyError
        If a bird is not in the pedigree.

    Examples
    --------
    Two full sibs share half of what each parent has:

    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> family = Pedigree(
    ...     pools=(Pool("sussex"),),
    ...     bases=((0.0,),),
    ...     birds=("A", "B", "C", "D"),
    ...     sexes=(None,) * 4,
    ...     sires=(((0, 1.0),), ((0, 1.0),), ((1, 1.0),), ((1, 1.0),)),
    ...     dams=(((0, 1.0),), ((0, 1.0),), ((2, 1.0),), ((2, 1.0),)),
    ... )
    >>> terms = terms_of_pedigree(family, ["C", "D"])
    >>> terms.within, terms.parents[3], terms.birds
    ((0.5, 0.5, 0.25, 0.25), ((0, 0.5), (1, 0.5)), (('C', 2), ('D', 3)))
    """
    node_of = pedigree.node_of()
    chosen = sorted(set(birds))
    part = _of_forebears(pedigree, {node_of[bird] for bird in chosen})
    kindred = kindred_of(ancestry_of(part))
    used, place = _needed(kindred)
    within = np.where(kindred.within > WITHIN_MIN, kindred.within, 0.0)[used] / 2
    unknown = dict(zip(part.birds, kindred.birds.tolist(), strict=True))
    return GroupKinship(
        parents=tuple(_parents(kindred, int(at), place) for at in used),
        within=tuple(within.tolist()),
        birds=tuple((bird, int(place[unknown[bird]])) for bird in chosen),
        limit=limit,
        price=price,
    )


def _of_forebears(pedigree: Pedigree, nodes: set[int]) -> Pedigree:
    """The pedigree of some birds and their possible forebears alone; all pools stay."""
    kept = pedigree.ancestors(nodes)
    numbers = {node: at for at, node in enumerate(kept)}
    rows = [node - pedigree.first_bird for node in kept if node >= pedigree.first_bird]

    def moved(side: tuple[Links, ...]) -> tuple[Links, ...]:
        return tuple(tuple((numbers[node], part) for node, part in side[row]) for row in rows)

    return Pedigree(
        pools=pedigree.pools,
        bases=pedigree.bases,
        birds=tuple(pedigree.birds[row] for row in rows),
        sexes=tuple(pedigree.sexes[row] for row in rows),
        sires=moved(pedigree.sires),
        dams=moved(pedigree.dams),
        clutches=tuple(pedigree.clutches[row] for row in rows) if pedigree.clutches else (),
    )


def _needed(kindred: Kindred) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Unknowns that some bird is made of, and the place of each unknown among them."""
    needed = np.zeros(kindred.unknowns, dtype=np.bool_)
    needed[kindred.birds] = True
    needed[kindred.parents] = True
    return np.flatnonzero(needed), np.cumsum(needed) - 1


def _parents(kindred: Kindred, at: int, place: NDArray[np.int64]) -> tuple[tuple[int, float], ...]:
    start, end = kindred.starts[at], kindred.starts[at + 1]
    parents = place[kindred.parents[start:end]].tolist()
    return tuple(zip(parents, kindred.weights[start:end].tolist(), strict=True))
