"""States of all birds drawn at random, where they are too tangled to be summed exactly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.network import networks, places_among_all
from matchmaker.genetics.inference.sampling import sampled

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.genotypes.network import Problem

    Array = NDArray[np.float64]

SEED = 20270201
"""Fixed, so that the same tables give the same figures."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Estimated state probabilities (birds, states), their standard errors, and joint draws.

    ``states`` is (draws, birds): the number of each bird's state among those of a bird of unknown
    sex.
    """

    probabilities: Array
    errors: Array
    states: NDArray[np.uint8]

    def joint(self, first: Array, second: Array) -> Array:
        """Mean product of what the drawn states give, shape (first, second, ., .).

        ``first`` and ``second`` are (draws, birds, outcomes).
        """
        draws = len(self.states)
        table = first.reshape(draws, -1).T @ second.reshape(draws, -1) / draws
        shape = (*first.shape[1:], *second.shape[1:])
        found: Array = table.reshape(shape).transpose(0, 2, 1, 3)
        return found


def draw_states(problem: Problem) -> Draws:
    """Sample the states of every bird of the pedigree, given everything seen.

    Raises
    ------
    ContradictionError
        If the evidence is seen to be impossible.
    TooTangledError
        If the samples do not agree well enough to be shown.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.genotypes.network import Problem
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> pure = pedigree_of("A cock sussex sussex")
    >>> egg = replace(catalogue()["O"], frequency={"sussex": 0.0})
    >>> asked = Problem(pedigree=pure, recurrent="sussex", loci=(egg,), evidence=((),))
    >>> draw_states(asked).probabilities.tolist()
    [[1.0, 0.0, 0.0]]
    """
    first, birds = problem.pedigree.first_bird, len(problem.pedigree.birds)
    # The last form, through selectors: given who the parents are, the rest is narrow.
    *_, builder = networks(problem, range(first, first + birds))
    found = sampled(builder.network, np.random.default_rng(SEED))
    probabilities = np.zeros((birds, len(problem.stretch.states(None))))
    errors = np.zeros_like(probabilities)
    states = np.zeros((len(found.samples), birds), dtype=np.uint8)
    for at in range(birds):
        variable = builder.variable_of[first + at]
        places = places_among_all(builder, first + at)
        probabilities[at, places] = found.marginals[variable]
        errors[at, places] = found.errors[variable]
        states[:, at] = places[found.samples[:, variable]]
    return Draws(probabilities=probabilities, errors=errors, states=states)
