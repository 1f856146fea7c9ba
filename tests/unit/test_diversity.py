"""Mean kinship of lines, gene diversity and effective size by cocks and hens."""

from __future__ import annotations

import numpy as np
import pytest

from matchmaker.genetics.kin.diversity import (
    effective_size_by_sexes,
    gene_diversity,
    line_kinship,
    rate_of_size,
)
from matchmaker.genetics.kin.kinship import kinship_matrix
from tests.descent_helpers import pedigree as flock
from tests.strategies import Shape, pedigree_by_seed

TWO_LINES = flock(
    "A cock recurrent recurrent",
    "B hen recurrent recurrent",
    "C cock A B",
    "D hen A B",
    "X hen donor donor",
)


def test_a_line_of_one_has_its_self_kinship() -> None:
    found = line_kinship(kinship_matrix(TWO_LINES), {"C": "Alder", "X": "Birch"})
    assert found.within("Alder") == 0.5


def test_within_a_line_every_bird_counts_with_itself() -> None:
    found = line_kinship(kinship_matrix(TWO_LINES), {"C": "Alder", "D": "Alder"})
    assert found.within("Alder") == (0.5 + 0.25 + 0.25 + 0.5) / 4


def test_between_lines_is_the_plain_mean() -> None:
    lines = {"A": "Alder", "X": "Alder", "C": "Birch"}
    found = line_kinship(kinship_matrix(TWO_LINES), lines)
    assert found.between("Alder", "Birch") == found.between("Birch", "Alder") == (0.25 + 0.0) / 2


def test_lines_stand_in_order_with_their_sizes() -> None:
    found = line_kinship(kinship_matrix(TWO_LINES), {"X": "Birch", "C": "Alder", "D": "Alder"})
    assert (found.lines, found.birds) == (("Alder", "Birch"), (2, 1))


def test_lines_as_by_plain_loops() -> None:
    pedigree = pedigree_by_seed(4, Shape(birds=20, founders=5))
    kinship = kinship_matrix(pedigree)
    line_of = {bird: "UVW"[at % 3] for at, bird in enumerate(pedigree.birds[4:])}
    found = line_kinship(kinship, line_of)
    for first in "UVW":
        for second in "UVW":
            pairs = [
                kinship.between(a, b)
                for a, one in line_of.items()
                for b, other in line_of.items()
                if (one, other) == (first, second)
            ]
            assert found.between(first, second) == pytest.approx(sum(pairs) / len(pairs))


def test_no_birds_no_lines() -> None:
    assert line_kinship(kinship_matrix(TWO_LINES), {}).lines == ()


def test_unrelated_birds_are_worth_their_number() -> None:
    found = gene_diversity(kinship_matrix(TWO_LINES), ["A", "B", "X"])
    assert found is not None
    assert found.genome_equivalents == pytest.approx(3)
    assert found.gene_diversity == pytest.approx(5 / 6)


def test_nobody_has_no_diversity() -> None:
    assert gene_diversity(kinship_matrix(TWO_LINES), []) is None


def test_a_bird_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match="not in"):
        gene_diversity(kinship_matrix(TWO_LINES, ["A"]), ["B"])


def test_mean_kinship_is_that_of_the_matrix() -> None:
    kinship = kinship_matrix(pedigree_by_seed(9, Shape(birds=15, founders=4)))
    found = gene_diversity(kinship, kinship.birds)
    assert found is not None
    assert found.mean_kinship == pytest.approx(float(np.mean(kinship.values)))


@pytest.mark.parametrize(("cocks", "hens"), [(0, 5), (5, 0), (0, 0)])
def test_one_sex_alone_has_no_effective_size(cocks: int, hens: int) -> None:
    assert effective_size_by_sexes(cocks, hens) == 0.0
    assert rate_of_size(0.0) is None


def test_equal_sexes_are_worth_their_number() -> None:
    assert effective_size_by_sexes(7, 7) == 14
