"""Genotypes of a flock too tangled for exact work: sampled, marked so, and near the exact ones."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker import verbs
from matchmaker.genetics.genotypes import network
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.loci.catalogue import catalogue
from tests.builders import chick, cock, hen, of_kind, write_flock
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.genetics.genotypes.genotype import Genotypes

PEA = catalogue()["P"]
SIRES = "C1|C2|C3"
FLOCK = pedigree(
    *(f"C{n} cock donor|recurrent donor|recurrent" for n in (1, 2, 3)),
    *(f"H{n} hen donor|recurrent donor|recurrent" for n in (1, 2)),
    *(f"K{n} cock {SIRES} H1" for n in range(4)),
    *(f"L{n} hen {SIRES} H2" for n in range(4)),
)
SEEN = evidence(FLOCK, PEA, {"K0": "pea", "K1": "single", "L0": "pea", "L1": "pea"})


def worked_out() -> Genotypes:
    return genotype_probabilities(FLOCK, PEA, SEEN, "recurrent")


@pytest.fixture
def exact() -> Genotypes:
    return worked_out()


@pytest.fixture
def sampled(exact: Genotypes, monkeypatch: pytest.MonkeyPatch) -> Genotypes:
    assert exact.method == "exact"
    monkeypatch.setattr(network, "CELLS_MAX", 8)
    return worked_out()


def test_what_was_sampled_says_so(sampled: Genotypes) -> None:
    assert sampled.method == "sampled"
    assert sampled.posterior.joint_method(["H1"], ["C1"]) == "sampled"
    assert 0 < sampled.standard_error("C1") < 0.02


def test_what_was_sampled_is_near_the_exact_probabilities(
    exact: Genotypes, sampled: Genotypes
) -> None:
    assert np.abs(exact.probabilities - sampled.probabilities).max() < 0.03


def test_joint_draws_are_near_the_exact_joint(exact: Genotypes, sampled: Genotypes) -> None:
    hens, cocks = ["H1", "L2"], ["C1", "K2"]
    difference = exact.joint(hens, cocks) - sampled.joint(hens, cocks)
    assert np.abs(difference).max() < 0.04


def test_the_same_question_is_answered_alike(
    sampled: Genotypes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(network, "CELLS_MAX", 8)
    assert worked_out().probabilities.tolist() == sampled.probabilities.tolist()


def test_check_and_pairs_mark_what_was_sampled(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    birds = [
        *(cock(f"D{n}", "Elm", "araucana", hatched="2024-03-01") for n in (1, 2)),
        *(cock(f"S{n}", hatched="2024-03-01") for n in (1, 2)),
        hen("SH", hatched="2024-03-01"),
        cock("SC"),
        *(
            chick(f"A{n}", "hen", "D1|D2|S1|S2", "SH", "Alder", hatched="2025-03-01")
            for n in range(6)
        ),
    ]
    seen = [{"bird": "A0", "locus": "O", "what": "blue", "how": "adult", "date": "2026-03-01"}]
    half = "[loci.O.frequency]\naraucana = 0.5\n[limits]\nkinship_max = 0.5\nproof_min = 0.0\n"
    folder = write_flock(tmp_path, birds, half, seen=seen)
    monkeypatch.setattr(network, "CELLS_MAX", 8)
    found = verbs.check(folder)
    (doubt,) = of_kind(found.doubts, "sampled-genotypes")
    assert doubt.value == "O"
    assert found.table is not None
    assert any(pair.approximate for pair in found.table.pairs)
