"""Birds of a simulated generation, made up by hand, for tests of what is ahead."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker.ahead.birds import Birds, Nature
from matchmaker.genetics.drop.grid import Grid
from matchmaker.genetics.drop.strands import founder_strands
from matchmaker.genetics.loci.inheritance import Inheritance

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Matrix = NDArray[np.float64]

LENGTHS = {"1": 120.0, "2": 80.0, "Z": 60.0}
AUTOSOMAL, ON_THE_Z = Inheritance(z_linked=False), Inheritance(z_linked=True)


def nature(
    genetic: Sequence[Sequence[float]] = ((4.0,),),
    *,
    lasting: float = 1.0,
    residual: float = 2.0,
    inheritances: tuple[Inheritance, ...] = (AUTOSOMAL, ON_THE_Z),
    level: float = 50.0,
    slopes: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> Nature:
    """One locus in the middle of chromosome 1 and one in that of the Z, traits as told.

    ``slopes`` are those on the share of the recurrent breed, on vigour and on inbreeding.
    """
    traits = len(genetic)
    middles = [("Z" if one.z_linked else "1", 30.0 + at) for at, one in enumerate(inheritances)]
    share, vigour, depression = slopes
    return Nature(
        grid=Grid.of(LENGTHS, spacing=20.0, placed=middles),
        loci=tuple(f"L{at}" for at in range(len(inheritances))),
        inheritances=inheritances,
        traits=tuple(f"t{at}" for at in range(traits)),
        genetic=np.array(genetic),
        lasting_sd=np.full(traits, lasting),
        residual_sd=np.full(traits, residual),
        pure_level=np.full(traits, level),
        share_slope=np.full(traits, share),
        vigour=np.full(traits, vigour),
        depression=np.full(traits, depression),
    )


def unrelated(
    count: int,
    of: Nature,
    rng: np.random.Generator,
    *,
    labels: tuple[int, int] = (0, 1),
    recurrent: tuple[bool, bool] = (True, True),
    alleles: tuple[int, int] = (0, 1),
) -> Birds:
    """Birds with breeding values of strangers, every other a hen; all with the same two strands.

    Two labels serve for all: none is inbred, and nothing is asked of kinship between them.
    """
    hens = np.arange(count) % 2 == 1
    held = np.empty((count, 2, len(of.loci)), dtype=np.int8)
    held[:, 0], held[:, 1] = alleles
    held[:, 1] = np.where(hens[:, None] & of.z_linked, -1, held[:, 1])
    root = np.linalg.cholesky(of.genetic)
    return Birds(
        hens=hens,
        bits=founder_strands(
            of.grid, np.tile(labels, (count, 1)), np.tile(recurrent, (count, 1)), 2
        ),
        alleles=held,
        values=rng.standard_normal((count, len(of.traits))) @ root.T,
        lasting=of.lasting_sd * rng.standard_normal((count, len(of.traits))),
    )
