"""The test pedigree of the kinship2 package (github mayoverse/kinship2, commit 043e72e, read).

File tests/testthat/test-kinship.R and its snapshot, autosomal part; one of the twins 8 and 9 is
left out.
"""

from __future__ import annotations

from tests.published.pedigrees import fractions, kinship, printed

PEDIGREE = printed(
    *("1 - -", "2 - -", "3 1 2", "4 1 2", "5 - -", "6 - -", "7 3 5", "8 6 4", "10 8 7")
)


def test_autosomal_kinship() -> None:
    assert kinship(PEDIGREE) == fractions(
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
