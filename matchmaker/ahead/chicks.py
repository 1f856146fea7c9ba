"""Chicks: strands crossed over, alleles on them, breeding values with what chance adds."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from matchmaker.ahead.birds import NO_ALLELE, Birds
from matchmaker.genetics.drop.crossovers import strand_masks
from matchmaker.genetics.drop.reading import bits_at, inbreeding
from matchmaker.genetics.drop.strands import gametes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.ahead.birds import Alleles, Bits, Flags, Matrix, Nature, Numbers


def hatch(
    birds: Birds, nature: Nature, sires: Numbers, dams: Numbers, rng: np.random.Generator
) -> Birds:
    """Chicks of ``birds[sires]`` and ``birds[dams]`` (both of shape (chicks,)), as conceived.

    Those that cannot live are among them (``Nature.can_live``). Each is a hen with chance one half.

    Notes
    -----
    A breeding value is the mean of the parents' and a part of its own with the variance
    ½ (1 − F̄) σ²ᵤ, F̄ being the mean of the parents' inbreeding (Henderson 1976, Biometrics 32:69),
    here that of their own strands.
    """
    count = len(sires)
    of_sires = strand_masks(nature.grid, count, rng)
    of_dams = strand_masks(nature.grid, count, rng, of_hens=np.ones(count, dtype=np.bool_))
    hens = rng.random(count) < 0.5
    sides = ((sires, of_sires), (dams, of_dams))
    bits = np.stack([gametes(birds.bits[at], masks) for at, masks in sides], axis=1)
    alleles = np.stack(
        [
            passed_on(birds.alleles[at], bits_at(masks, nature.grid.placed_at))
            for at, masks in sides
        ],
        axis=1,
    )
    return Birds(
        hens=hens,
        bits=bits,
        alleles=without_second_z(alleles, hens, nature.z_linked),
        values=_values(birds, nature, (sires, dams), rng),
        lasting=nature.lasting_sd * rng.standard_normal((count, len(nature.traits))),
    )


def passed_on(alleles: Alleles, strands: NDArray[np.integer[Any]]) -> Alleles:
    """Alleles (gametes, loci) of gametes from parents' (gametes, 2, loci), strand by locus.

    Examples
    --------
    >>> passed_on(np.array([[[0, 1], [2, 3]]], dtype=np.int8), np.array([[0, 1]])).tolist()
    [[0, 3]]
    """
    return np.where(strands == 0, alleles[:, 0], alleles[:, 1])


def without_second_z(alleles: Alleles, hens: Flags, z_linked: Flags) -> Alleles:
    """The alleles with none on the Z that hens do not have.

    Examples
    --------
    >>> two = np.ones((2, 2, 1), dtype=np.int8)
    >>> without_second_z(two, np.array([True, False]), np.array([True])).tolist()
    [[[1], [-1]], [[1], [1]]]
    """
    found = alleles.copy()
    found[:, 1] = np.where(hens[:, None] & z_linked, NO_ALLELE, found[:, 1])
    return found


def _values(
    birds: Birds, nature: Nature, parents: tuple[Numbers, Numbers], rng: np.random.Generator
) -> Matrix:
    sires, dams = parents
    inbred = _inbreeding_once(nature, birds.bits, parents)
    own = np.sqrt(0.5 * (1 - (inbred[sires] + inbred[dams]) / 2))
    drawn = rng.standard_normal((len(sires), len(nature.traits))) @ square_root(nature.genetic).T
    found: Matrix = (birds.values[sires] + birds.values[dams]) / 2 + own[:, None] * drawn
    return found


def _inbreeding_once(nature: Nature, bits: Bits, parents: tuple[Numbers, Numbers]) -> Matrix:
    """Inbreeding of the parents, by their numbers; that of the other birds is not looked at."""
    used = np.unique(np.concatenate(parents))
    found = np.zeros(len(bits))
    found[used] = inbreeding(nature.grid, bits[used])
    return found


def square_root(covariances: Matrix) -> Matrix:
    """L with L Lᵀ the (co)variances, also where some of them are nothing.

    Examples
    --------
    >>> root = square_root(np.array([[4.0, 0.0], [0.0, 0.0]]))
    >>> (root @ root.T).tolist()
    [[4.0, 0.0], [0.0, 0.0]]
    """
    values, vectors = np.linalg.eigh(covariances)
    return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))
