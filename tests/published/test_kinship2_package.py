"""The test pedigree of the kinship2 package (github mayoverse/kinship2, commit 043e72e, read).

File tests/testthat/test-kinship.R and its snapshot, autosomal part and X; one of the twins 8 and
9 is left out. The X of mammals is the Z of birds with the sexes exchanged.
"""

from __future__ import annotations

from matchmaker.genetics.kin.kinship import kinship_matrix
from matchmaker.tables.records import Sex
from tests.published.pedigrees import (
    fractions,
    kinship,
    mirrored_z_kinship,
    pedigree_of,
    printed,
)

PEDIGREE = printed(
    *("1 - -", "2 - -", "3 1 2", "4 1 2", "5 - -", "6 - -", "7 3 5", "8 6 4", "10 8 7")
)


AUTOSOMAL = fractions(
    "1/2 0 1/4 1/4 0 0 1/8 1/8 1/8",
    "0 1/2 1/4 1/4 0 0 1/8 1/8 1/8",
    "1/4 1/4 1/2 1/4 0 0 1/4 1/8 3/16",
    "1/4 1/4 1/4 1/2 0 0 1/8 1/4 3/16",
    "0 0 0 0 1/2 0 1/4 0 1/8",
    "0 0 0 0 0 1/2 0 1/4 1/8",
    "1/8 1/8 1/4 1/8 1/4 0 1/2 1/16 9/32",
    "1/8 1/8 1/8 1/4 0 1/4 1/16 1/2 9/32",
    "1/8 1/8 3/16 3/16 1/8 1/8 9/32 9/32 17/32",
)

MALES = ("1", "3", "6", "8")
ON_THE_X = fractions(
    "1 0 0 1/2 0 0 0 1/2 1/4",
    "0 1/2 1/2 1/4 0 0 1/4 1/4 1/4",
    "0 1/2 1 1/4 0 0 1/2 1/4 3/8",
    "1/2 1/4 1/4 1/2 0 0 1/8 1/2 5/16",
    "0 0 0 0 1/2 0 1/4 0 1/8",
    "0 0 0 0 0 1 0 0 0",
    "0 1/4 1/2 1/8 1/4 0 1/2 1/8 5/16",
    "1/2 1/4 1/4 1/2 0 0 1/8 1 9/16",
    "1/4 1/4 3/8 5/16 1/8 0 5/16 9/16 9/16",
)


def test_autosomal_kinship() -> None:
    assert kinship(PEDIGREE) == AUTOSOMAL


def test_kinship_on_the_x_is_kinship_on_the_z_of_the_mirrored_pedigree() -> None:
    assert mirrored_z_kinship(PEDIGREE, MALES) == ON_THE_X


def test_kinship_on_the_z_of_the_pedigree_as_printed() -> None:
    """Own exact arithmetic, worked out apart from this project: the sexes are not mirrored."""
    sexes = dict.fromkeys("12345678", Sex.HEN) | dict.fromkeys(MALES, Sex.COCK)
    pedigree = pedigree_of(PEDIGREE, {**sexes, "10": Sex.HEN})
    found = kinship_matrix(pedigree, z_linked=True).values
    assert found.tolist() == fractions(
        "1/2 0 1/4 1/2 0 0 1/4 1/4 1/4",
        "0 1 1/2 0 0 0 1/2 0 0",
        "1/4 1/2 1/2 1/4 0 0 1/2 1/8 1/8",
        "1/2 0 1/4 1 0 0 1/4 1/2 1/2",
        "0 0 0 0 1 0 0 0 0",
        "0 0 0 0 0 1/2 0 1/4 1/4",
        "1/4 1/2 1/2 1/4 0 0 1 1/8 1/8",
        "1/4 0 1/8 1/2 0 1/4 1/8 1/2 1/2",
        "1/4 0 1/8 1/2 0 1/4 1/8 1/2 1",
    )
