"""Today's flock as it may truly be, drawn anew for each replicate from what the books say.

What the books leave open is drawn in this order: the states of all birds at the loci that matter
and the parents that are not certain, together, given everything seen; which allele came from which
parent; true breeding values given all scores; and, replicate by replicate, where on the map the
loci lie and the strands of every bird, so that they carry those alleles.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.ahead.birds import Birds, Nature, Truth
from matchmaker.ahead.inherited import inherited
from matchmaker.ahead.strands import Descent, draw_places, drop_strands
from matchmaker.ahead.worth import draw_worths, genetic_covariances, surrounding_sds
from matchmaker.genetics.drop.grid import Grid
from matchmaker.genetics.drop.strands import planes_for
from matchmaker.genetics.genotypes.together import draw_flocks
from matchmaker.genetics.kin.clutch_parents import with_clutch_parents
from matchmaker.genetics.loci.linkage import UNLINKED
from matchmaker.genetics.shares.genome_map import chicken_map

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.ahead.birds import Matrix, Numbers
    from matchmaker.ahead.inherited import Inherited
    from matchmaker.ahead.worth import Worths
    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.network import Problem
    from matchmaker.genetics.genotypes.posterior import Method
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.genetics.study import Study

STATES, DESCENT, WORTH, STRANDS = range(4)
"""What a stream of random numbers of a replicate is for; later uses take other numbers."""


def stream(seed: int, replicate: int, use: int) -> np.random.Generator:
    """The random numbers of one replicate for one use: the same whoever asks, and when.

    Examples
    --------
    >>> [int(stream(1, 5, use).integers(1000)) for use in (STRANDS, STRANDS, WORTH)]
    [500, 500, 716]
    """
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(replicate, use)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Past:
    """What was drawn of the past for all replicates; it can be sent to other processes.

    ``living`` (shape (living,)) are the numbers in the pedigree of the birds with the ``bands``.
    ``method`` says whether states and parents were drawn exactly, or sampled by chains, the
    parentage being too tangled; what was seen of the loci ``given_parents`` did not help to tell
    parents (``WholeFlocks``).
    """

    replicates: int
    seed: int
    bands: tuple[str, ...]
    pedigree: Pedigree
    recurrent: str
    loci: Mapping[str, Locus]
    traits: tuple[str, ...]
    living: Numbers
    method: Method
    given_parents: tuple[str, ...]
    drawn: Inherited
    worths: Worths
    genetic: Matrix
    lasting_sd: Matrix
    residual_sd: Matrix
    depression: Matrix
    planes: int

    def truth(self, replicate: int) -> Truth:
        """The living birds of one replicate; the same whoever asks.

        Raises
        ------
        IndexError
            If there is no such replicate: they are 0 … ``replicates`` − 1.
        """
        if not 0 <= replicate < self.replicates:
            raise IndexError(f"replicate {replicate} of {self.replicates}")
        rng = stream(self.seed, replicate, STRANDS)
        lengths = chicken_map().lengths
        grid = Grid.of(lengths, placed=draw_places(self.loci, lengths, rng))
        descent = Descent(
            pedigree=self.pedigree,
            recurrent=self.recurrent,
            parents=self.drawn.parents[replicate],
            alleles=self.drawn.alleles[replicate],
            hens=self.drawn.hens[replicate],
        )
        bits = drop_strands(grid, descent, self.living, self.planes, rng)
        return Truth(
            bands=self.bands,
            birds=Birds(
                hens=descent.hens[self.living],
                bits=bits,
                alleles=descent.alleles[self.living],
                values=self.worths.values[replicate],
                lasting=self.worths.lasting[replicate],
            ),
            nature=self._nature(grid, replicate),
        )

    def _nature(self, grid: Grid, replicate: int) -> Nature:
        return Nature(
            grid=grid,
            loci=tuple(self.loci),
            inheritances=tuple(locus.inheritance for locus in self.loci.values()),
            traits=self.traits,
            genetic=self.genetic,
            lasting_sd=self.lasting_sd,
            residual_sd=self.residual_sd,
            pure_level=self.worths.pure_level[replicate],
            share_slope=self.worths.share_slope[replicate],
            vigour=self.worths.vigour[replicate],
            depression=self.depression,
        )


def prepare_past(study: Study, replicates: int, seed: int) -> Past:
    """Draw what all replicates need of the past of a flock.

    A replicate hangs on the tables, the seed and its own number alone, not on how many there are.

    Raises
    ------
    TooTangledError
        If the parentage is too tangled even for sampling.
    ValueError
        If there is no replicate.
    """
    if replicates < 1:
        raise ValueError(f"{replicates} replicates: at least one is needed")
    flock, forecast = study.flock, study.forecast
    pedigree = with_clutch_parents(flock.pedigree).pedigree
    problems = [replace(one, pedigree=pedigree) for one in problems_of(study)]
    flocks = draw_flocks(problems, _streams(seed, replicates, STATES), seed)
    drawn = inherited(problems, flocks, _streams(seed, replicates, DESCENT))
    worths = draw_worths(flock.pedigree, forecast, _streams(seed, replicates, WORTH))
    lasting_sd, residual_sd = surrounding_sds(forecast)
    bands = tuple(bird.band for bird in flock.living)
    nodes, whole = flock.pedigree.node_of(), pedigree.node_of()
    told = np.array([nodes[band] - flock.pedigree.first_bird for band in bands], dtype=np.int64)
    return Past(
        replicates=replicates,
        seed=seed,
        bands=bands,
        pedigree=pedigree,
        recurrent=flock.settings.recurrent,
        loci={locus.symbol: locus for problem in problems for locus in problem.loci},
        traits=tuple(found.aim.trait for found in forecast.traits),
        living=np.array([whole[band] - pedigree.first_bird for band in bands], dtype=np.int64),
        method=flocks.method,
        given_parents=flocks.given_parents,
        drawn=drawn,
        worths=replace(worths, values=worths.values[:, told], lasting=worths.lasting[:, told]),
        genetic=genetic_covariances(forecast),
        lasting_sd=lasting_sd,
        residual_sd=residual_sd,
        depression=np.array([found.depression for found in forecast.traits]),
        planes=planes_for(_gametes_out_of_pools(pedigree)),
    )


def problems_of(study: Study) -> list[Problem]:
    """What was asked of the pedigree, each locus once: linked ones together, all others alone.

    Loci that only have their unsure parents in common need not stand in one problem: whole flocks
    are drawn with the same parents in all.
    """
    found: dict[tuple[str, ...], Problem] = {}
    for one in study.genotypes.values():
        asked = one.problem
        for part in _apart(asked) if asked.recombination >= UNLINKED else [asked]:
            found[tuple(locus.symbol for locus in part.loci)] = part
    return [found[symbols] for symbols in sorted(found)]


def _apart(asked: Problem) -> list[Problem]:
    return [
        replace(asked, loci=(locus,), evidence=(told,), recombination=0.0)
        for locus, told in zip(asked.loci, asked.evidence, strict=True)
    ]


def _streams(seed: int, replicates: int, use: int) -> Sequence[np.random.Generator]:
    return [stream(seed, replicate, use) for replicate in range(replicates)]


def _gametes_out_of_pools(pedigree: Pedigree) -> int:
    """Most founder labels that a replicate can need: one for each gamete that may be a pool's."""
    return sum(
        any(node < pedigree.first_bird for node, _ in links)
        for links in (*pedigree.sires, *pedigree.dams)
    )
