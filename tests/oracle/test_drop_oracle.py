"""The gene drop beside a slow one, place by place, and beside kinship by descent."""

from __future__ import annotations

import random
from typing import Any, TypeAlias

import numpy as np
import pytest
from numpy.typing import NDArray

from matchmaker.genetics.drop.crossovers import strand_masks
from matchmaker.genetics.drop.fixed import drop_pedigree
from matchmaker.genetics.drop.grid import Grid, unpacked
from matchmaker.genetics.drop.reading import (
    breed_mixed,
    inbreeding,
    kinship,
    labels_at,
    recurrent_share,
)
from matchmaker.genetics.drop.strands import gametes
from matchmaker.genetics.kin.kinship import inbreeding_of, kinship_of
from tests.kinship_helpers import simulated_flock
from tests.oracle.slow_drop import SlowDrop, part
from tests.oracle.slow_drop import kinship as slow_kinship

Array: TypeAlias = NDArray[Any]

GRID = Grid.of({"1": 120.0, "2": 45.0, "Z": 60.0}, placed=[("1", 31.0), ("2", 1.0)])
EVERYWHERE = np.arange(GRID.places)
SIRES = np.array([-1, -1, -1, 0, 0, 3, 3, 5])
DAMS = np.array([-1, -1, -1, 1, 2, 4, -1, 6])
FLOCK = simulated_flock(120, seasons=6, hens_per_cock=5, seed=4)


def test_gametes_place_by_place() -> None:
    rng = np.random.default_rng(1)
    bits = drop_pedigree(GRID, SIRES, DAMS, 20, rng)[:, 7]
    masks = strand_masks(GRID, len(bits), rng)
    made = gametes(bits, masks)
    parents, chosen = labels_at(bits, EVERYWHERE), unpacked(GRID, masks)
    found = labels_at(np.stack([made, made], axis=1), EVERYWHERE)[:, 0]
    for row in range(len(bits)):
        for place in range(GRID.places):
            assert found[row, place] == parents[row, chosen[row, place], place]


def test_readings_place_by_place() -> None:
    breeds = np.array([[True, False], [False, False], [True, True], [False, True]])
    rng = np.random.default_rng(2)
    bits = drop_pedigree(GRID, SIRES, DAMS, 6, rng, recurrent=breeds)
    labels = labels_at(bits, EVERYWHERE).tolist()
    # labels as the founding strands are met: birds 0, 1, 2 and the dam's side of 6
    own = [bool(flag) for flag in breeds[:3].ravel()] + [bool(breeds[3, 1])]
    shares, mixed = recurrent_share(GRID, bits), breed_mixed(GRID, bits)
    inbred, realised = inbreeding(GRID, bits), kinship(GRID, bits[:, :, None], bits[:, None])
    for at, flock in enumerate(labels):
        for bird, (one, two) in enumerate(flock):
            first, second = ([own[label] for label in strand] for strand in (one, two))
            share = (part(GRID, first) + part(GRID, second)) / 2
            assert shares[at, bird] == pytest.approx(share, abs=1e-12)
            unlike = [a != b for a, b in zip(first, second, strict=True)]
            assert mixed[at, bird] == pytest.approx(part(GRID, unlike), abs=1e-12)
            alike = [a == b for a, b in zip(one, two, strict=True)]
            assert inbred[at, bird] == pytest.approx(part(GRID, alike), abs=1e-12)
            for mate, strands in enumerate(flock):
                expected = slow_kinship(GRID, (one, two), strands)
                assert realised[at, bird, mate] == pytest.approx(expected, abs=1e-12)


def test_whole_pedigrees_are_dropped_alike() -> None:
    """Mean and spread of inbreeding and of a label's part, autosomes and Z, by both ways."""
    slow = SlowDrop(GRID, random.Random(3))  # noqa: S311
    replicates = 1500
    theirs = np.array([slow.pedigree(SIRES.tolist(), DAMS.tolist()) for _ in range(replicates)])
    bits = drop_pedigree(GRID, SIRES, DAMS, 4 * replicates, np.random.default_rng(3))
    ours = labels_at(bits, EVERYWHERE)
    for measure in (inbred_parts, first_label, z_of_first_label, placed_pair):
        one, other = measure(ours), measure(theirs)
        agree(one, other)
        agree((one - other.mean(axis=0)) ** 2, (other - other.mean(axis=0)) ** 2)


def inbred_parts(labels: Array) -> Array:
    found: Array = (labels[:, :, 0] == labels[:, :, 1]) @ GRID.weights
    return found


def first_label(labels: Array) -> Array:
    found: Array = (labels == 0).mean(axis=2) @ GRID.weights
    return found


def z_of_first_label(labels: Array) -> Array:
    """On strand 0 only: a hen has no other."""
    found: Array = (labels[:, :, 0] == 0) @ GRID.z_weights
    return found


def placed_pair(labels: Array) -> Array:
    """Whether both places asked for have the first bird's first strand, on the sire's side."""
    found: Array = (labels[:, :, 0][..., GRID.placed_at] == 0).all(axis=-1).astype(float)
    return found


def agree(one: Array, other: Array) -> None:
    """Means over replicates within five standard errors of each other, bird by bird."""
    error = np.sqrt(one.var(axis=0) / len(one) + other.var(axis=0) / len(other))
    assert (np.abs(one.mean(axis=0) - other.mean(axis=0)) <= 5 * error + 1e-12).all()


def test_mean_inbreeding_and_kinship_are_those_by_descent() -> None:
    grid = Grid.of({str(at): 60.0 for at in range(20)})
    bits = drop_pedigree(grid, FLOCK.sires, FLOCK.dams, 400, np.random.default_rng(5))
    inbred = inbreeding(grid, bits)
    expected = inbreeding_of(FLOCK.ancestry)
    assert expected.max() > 0.2
    error = inbred.std(axis=0) / 20
    assert (np.abs(inbred.mean(axis=0) - expected) <= 5 * error + 1e-12).all()
    last = np.arange(90, 120)
    realised = kinship(grid, bits[:, last, None], bits[:, None, last])
    by_descent = kinship_of(FLOCK.ancestry, last + 1)
    error = realised.std(axis=0) / 20
    assert (np.abs(realised.mean(axis=0) - by_descent) <= 5 * error + 1e-12).all()
