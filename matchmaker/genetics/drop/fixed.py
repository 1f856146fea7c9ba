"""Genes dropped through a pedigree that is given, many times over."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.drop.crossovers import strand_masks
from matchmaker.genetics.drop.strands import founder_strands, pass_on, planes_for

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.genetics.drop.grid import Flags, Grid, Numbers, Words

DAM = 1
"""Strand that came from the dam."""

GAMETES = 1280
"""Gametes of a level that are made at once, over as many replicates as that takes."""


def drop_pedigree(
    grid: Grid,
    sires: Numbers,
    dams: Numbers,
    replicates: int,
    rng: np.random.Generator,
    *,
    recurrent: Flags | None = None,
) -> Words:
    """Return every bird's strands in every replicate, shape (replicates, birds, 2, planes, words).

    ``sires`` and ``dams`` are numbers of birds, −1 for none; each missing parent's strand is a
    founder label of its own, numbered bird by bird, the sire's before the dam's. ``recurrent``
    says which birds with a missing parent, in their order, bring strands of the recurrent breed:
    shape (founders,), or (founders, 2) strand by strand; without it none does. Dams have one Z.

    Raises
    ------
    ValueError
        If a parent is no bird of the pedigree, or a bird descends from itself.

    Examples
    --------
    >>> from matchmaker.genetics.drop.grid import Grid
    >>> from matchmaker.genetics.drop.reading import inbreeding
    >>> grid = Grid.of({"1": 1000.0})
    >>> rng = np.random.default_rng(1)
    >>> bits = drop_pedigree(grid, np.array([-1, -1, 0, 0]), np.array([-1, -1, 1, 2]), 400, rng)
    >>> [round(mean, 1) for mean in inbreeding(grid, bits).mean(axis=0)[:3].tolist()]
    [0.0, 0.0, 0.0]
    >>> abs(inbreeding(grid, bits)[:, 3].mean() - 0.25) < 0.02
    np.True_
    """
    parents = np.stack([sires, dams], axis=1)
    levels = levels_of(parents)
    founding = parents < 0
    labels = np.cumsum(founding.ravel()).reshape(parents.shape) - 1
    planes = planes_for(int(founding.sum()))
    start = _founders(grid, np.where(founding, labels, 0), founding, recurrent, planes)
    bits = np.empty((replicates, len(parents), 2, planes, grid.words), dtype=np.uint64)
    flat = bits.reshape(-1, *bits.shape[2:])
    strands = flat.reshape(-1, *bits.shape[3:])
    half = np.flatnonzero(founding.any(axis=1))
    for some in _blocks(replicates, 2 * max((len(level) for level in levels), default=1)):
        bits[some.start : some.stop, half] = start[half]
        starts = np.arange(some.start, some.stop)[:, None] * len(parents)
        for level in levels:
            bird, side = np.nonzero(parents[level] >= 0)
            givers = (starts + parents[level[bird], side]).ravel()
            into = (2 * (starts + level[bird]) + side).ravel()
            of_hens = np.tile(side == DAM, len(starts))
            masks = strand_masks(grid, len(into), rng, of_hens=of_hens)
            pass_on(flat, givers, masks, strands, into)
    return bits


def levels_of(parents: Numbers) -> list[Numbers]:
    """Return the birds with parents, level by level, each after all it descends from.

    Raises
    ------
    ValueError
        If a parent is no bird of the pedigree, or a bird descends from itself.

    Examples
    --------
    >>> [level.tolist() for level in levels_of(np.array([[-1, -1], [0, -1], [0, 1], [0, -1]]))]
    [[1, 3], [2]]
    """
    count = len(parents)
    if parents.size and not -1 <= parents.min() <= parents.max() < count:
        raise ValueError(f"parents are numbers of birds, −1 to {count - 1}")
    depth = np.append(np.zeros(count, dtype=np.intp), -1)  # the last is that of parent −1
    for _ in range(count + 1):
        deeper = depth[parents].max(axis=1, initial=-1) + 1
        if (deeper == depth[:-1]).all():
            return [np.flatnonzero(deeper == at) for at in range(1, deeper.max(initial=0) + 1)]
        depth[:-1] = deeper
    raise ValueError("a bird of the pedigree descends from itself")


def _founders(
    grid: Grid, labels: Numbers, founding: Flags, recurrent: Flags | None, planes: int
) -> Words:
    breeds = np.zeros(founding.shape, dtype=bool)
    rows = founding.any(axis=1)
    if recurrent is not None:
        given = np.asarray(recurrent, dtype=bool)
        breeds[rows] = given[:, None] if given.ndim == 1 else given
    return founder_strands(grid, labels, breeds, planes)


def _blocks(replicates: int, gametes: int) -> Iterator[range]:
    step = max(1, GAMETES // gametes)
    for begun in range(0, replicates, step):
        yield range(begun, min(begun + step, replicates))
