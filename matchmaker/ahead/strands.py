"""The strands of today's birds: dropped from the founders so that they carry the alleles drawn."""

from __future__ import annotations

from dataclasses import dataclass
from math import log
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.ahead.birds import NO_ALLELE
from matchmaker.ahead.founders import founder_labels
from matchmaker.genetics.drop.crossovers import held_masks
from matchmaker.genetics.drop.fixed import levels_of
from matchmaker.genetics.drop.strands import founder_strands, gametes
from matchmaker.genetics.loci.linkage import UNLINKED, linked_pairs
from matchmaker.genetics.loci.locus import recombination_between
from matchmaker.genetics.shares.genome_map import MORGAN, Z

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.ahead.birds import Alleles, Bits, Flags, Numbers
    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.drop.grid import Grid
    from matchmaker.genetics.loci.locus import Locus

    Place = tuple[str, float]

EITHER: Final = -1
"""In place of a strand: both carry the allele that was passed on."""


def draw_places(
    loci: Mapping[str, Locus], lengths: Mapping[str, float], rng: np.random.Generator
) -> list[Place]:
    """Where each locus lies: chromosome and centimorgans from its start, drawn evenly along it.

    Of a locus without a known chromosome that is drawn too, by length; on the Z it is the Z. The
    second of two linked loci lies at the distance that their recombination says (Haldane 1919, J
    Genet 8:299), or as far as the chromosome is long. A locus can be in one pair only
    (``linked_pairs``).

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> lengths = {"1": 400.0, "2": 300.0, "Z": 200.0}
    >>> loci = {symbol: catalogue()[symbol] for symbol in ("O", "P", "S")}
    >>> places = draw_places(loci, lengths, np.random.default_rng(1))
    >>> [chromosome for chromosome, _ in places], round(abs(places[0][1] - places[1][1]), 2)
    (['1', '1', 'Z'], 4.17)
    """
    found: dict[str, Place] = {}
    for one, two in linked_pairs(loci).pairs:
        known = [symbol for symbol in (one, two) if loci[symbol].chromosome in lengths]
        chromosome = _chromosome(loci[(*known, one)[0]], lengths, rng)
        recombination = recombination_between(loci[one], loci[two]) or 0.0
        length = lengths[chromosome]
        apart = min(-MORGAN / 2 * log(1 - recombination / UNLINKED), length)
        start = float(rng.random()) * (length - apart)
        ends = (start, start + apart)[:: 1 if rng.random() < 0.5 else -1]
        found |= {symbol: (chromosome, at) for symbol, at in zip((one, two), ends, strict=True)}
    for symbol, locus in loci.items():
        if symbol not in found:
            chromosome = _chromosome(locus, lengths, rng)
            found[symbol] = (chromosome, float(rng.random()) * lengths[chromosome])
    return [found[symbol] for symbol in loci]


def _chromosome(locus: Locus, lengths: Mapping[str, float], rng: np.random.Generator) -> str:
    if locus.z_linked:
        return Z
    if locus.chromosome in lengths and locus.chromosome != Z:
        return locus.chromosome
    names = [name for name in lengths if name != Z]
    bounds = np.cumsum([lengths[name] for name in names])
    return names[int(np.searchsorted(bounds, rng.random() * bounds[-1], side="right"))]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Descent:
    """One replicate's pedigree, all parents known: as ``Inherited`` has it, for one replicate.

    ``parents`` (birds, 2) are numbers of sires and dams, pool g standing as −1 − g; ``alleles``
    (birds, 2, loci) those of their strands and ``hens`` (birds,) who is one.
    """

    pedigree: Pedigree
    recurrent: str
    parents: Numbers
    alleles: Alleles
    hens: Flags


def drop_strands(
    grid: Grid, descent: Descent, living: Numbers, planes: int, rng: np.random.Generator
) -> Bits:
    """Strands of the ``living`` (numbers of birds).

    At the loci placed on the grid each gamete has the strand whose allele the chick has of that
    parent; between them strands cross over at random.
    """
    needed = ancestors_of(descent.parents, living)
    number = np.full(len(descent.parents), -1)
    number[needed] = np.arange(len(needed))
    given = descent.parents[needed]
    parents = np.where(given >= 0, number[given], -1)
    alleles, hens = descent.alleles[needed], descent.hens[needed]
    bits = _founders(grid, descent, given, planes, rng)
    for level in levels_of(parents):
        born, side = np.nonzero(parents[level] >= 0)
        chicks = level[born]
        givers = parents[chicks, side]
        held = held_strands(alleles[givers], alleles[chicks, side])
        of_hens = hens[givers]
        held[of_hens[:, None] & grid.is_z[grid.placed_at]] = EITHER
        masks = held_masks(grid, len(chicks), rng, held, of_hens=of_hens)
        bits[chicks, side] = gametes(bits[givers], masks)
    found: Bits = bits[number[living]]
    return found


def ancestors_of(parents: Numbers, living: Numbers) -> Numbers:
    """Numbers of some birds and all they descend from, ascending; parents come before chicks.

    Examples
    --------
    >>> ancestors_of(np.array([[-1, -1], [-1, -1], [0, -2], [1, 0]]), np.array([2])).tolist()
    [0, 2]
    """
    wanted = np.zeros(len(parents) + 1, dtype=np.bool_)
    wanted[living] = True
    for at in range(len(parents) - 1, -1, -1):
        if wanted[at]:
            wanted[np.maximum(parents[at], -1)] = True
    return np.flatnonzero(wanted[:-1])


def held_strands(of_parents: Alleles, passed: Alleles) -> Alleles:
    """Which strand of each parent (gametes, 2, loci) carries what it passed on (gametes, loci).

    ``EITHER`` where both do, or where nothing was passed on: a daughter has no Z of her dam.

    Examples
    --------
    >>> held_strands(np.array([[[0, 1, 1], [1, 1, 0]]]), np.array([[1, 1, -1]])).tolist()
    [[1, -1, -1]]
    """
    one, two = of_parents[:, 0] == passed, of_parents[:, 1] == passed
    either = (one & two) | (passed == NO_ALLELE)
    return np.where(either, EITHER, np.where(one, 0, 1)).astype(np.int8)


def _founders(
    grid: Grid, descent: Descent, parents: Numbers, planes: int, rng: np.random.Generator
) -> Bits:
    """Strands of birds as far as they come out of pools, the rest blank."""
    pools = descent.pedigree.pools
    recurrent = np.array(
        [pool.breed.casefold() == descent.recurrent.casefold() for pool in pools], dtype=np.bool_
    )
    out = parents < 0
    numbers = -1 - parents[out]
    labels = np.zeros(parents.shape, dtype=np.int64)
    labels[out] = founder_labels(descent.pedigree, numbers.tolist(), rng)
    breeds = np.zeros(parents.shape, dtype=np.bool_)
    breeds[out] = recurrent[numbers]
    return founder_strands(grid, labels, breeds, planes)
