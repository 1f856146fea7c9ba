"""Kinship of a group of matings by plain arithmetic: the recursion over the pedigree, no solver."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.plan.posing.problem import Candidate, GroupKinship


def matings_of(pairs: Iterable[Candidate]) -> Counter[str]:
    """Return how many matings each bird has among these pairs."""
    return Counter(bird for pair in pairs for bird in (pair.hen, pair.cock))


def squared_kinship(group: GroupKinship, counts: Mapping[str, int]) -> float:
    """Return vᵀKv for these numbers of matings: Σ within·g² over the nodes of the pedigree.

    g of a node is what its own birds mate plus what its offspring pass up, each by its weight.
    Birds that stand at no node count nothing.
    """
    flow = [0.0] * len(group.within)
    for bird, node in group.birds:
        flow[node] += counts.get(bird, 0)
    total = 0.0
    for node in reversed(range(len(flow))):
        total += group.within[node] * flow[node] ** 2
        for parent, weight in group.parents[node]:
            flow[parent] += weight * flow[node]
    return total


def group_kinship_of(group: GroupKinship, counts: Mapping[str, int], pairs: int) -> float:
    """Return the mean kinship vᵀKv / 4N² of so many pairs' parents; 0 where there is no pair.

    Two unrelated founders, mated once, each with itself ½ and half the weight:

    >>> from matchmaker.plan.posing.problem import GroupKinship
    >>> two = GroupKinship(parents=((), ()), within=(0.5, 0.5), birds=(("H", 0), ("C", 1)))
    >>> group_kinship_of(two, {"H": 1, "C": 1}, 1)
    0.25
    """
    return squared_kinship(group, counts) / (4 * pairs**2) if pairs else 0.0
