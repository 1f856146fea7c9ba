"""Alvarez, Ceballos & Quinteiro 2009, PLoS ONE 4:e5174 (abstract read): Charles II and his kin.

The paper's inbreeding rests on 16 generations and over 3,000 persons; the two pedigrees here, of
43 and 87 persons, are general genealogy written from memory, so that they can only give less:
Charles II .254 and Philip I .025 read in the abstract, the others from memory. The exact
fractions hold the matrix to the two tables; they were worked out apart from this project and
agreed with a general library's pedigree kinship to the last digit.
"""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from tests.published.pedigrees import Parents, inbreeding

EXACT = {
    43: {
        "Philip I": "0",
        "Charles V": "0",
        "Philip II": "1/16",
        "Philip III": "23/128",
        "Philip IV": "95/1024",
        "Charles II": "3905/16384",
        "Mariana": "1161/8192",
        "Margaret": "33/256",
    },
    87: {
        "Philip I": "17/1024",
        "Charles V": "197/8192",
        "Philip II": "3465/32768",
        "Philip III": "53517/262144",
        "Philip IV": "217925/2097152",
        "Charles II": "4122747/16777216",
        "Mariana": "1237477/8388608",
        "Margaret": "17275/131072",
    },
}
PUBLISHED = {
    "Philip I": ".025",
    "Philip II": ".123",
    "Philip III": ".218",
    "Philip IV": ".115",
    "Charles II": ".254",
}


def persons(count: int) -> list[Parents]:
    file = Path(__file__).parent / "data" / f"Habsburg_{count}.csv"
    rows = list(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))
    assert len(rows) == count
    return [(row["person"], row["father"], row["mother"]) for row in rows]


@pytest.mark.parametrize("count", EXACT)
def test_exact_inbreeding_in_the_truncated_pedigrees(count: int) -> None:
    found = inbreeding(persons(count))
    assert {name: found[name] for name in EXACT[count]} == {
        name: Fraction(value) for name, value in EXACT[count].items()
    }


@pytest.mark.parametrize("count", EXACT)
def test_a_shorter_pedigree_never_shows_more_than_was_published(count: int) -> None:
    found = inbreeding(persons(count))
    assert all(found[name] <= Fraction(value) for name, value in PUBLISHED.items())


def test_more_ancestors_show_more_inbreeding() -> None:
    short, long = inbreeding(persons(43)), inbreeding(persons(87))
    assert all(short[name] <= long[name] for name in PUBLISHED)


def test_charles_is_the_most_inbred_of_the_kings() -> None:
    found = inbreeding(persons(87))
    assert max(PUBLISHED, key=lambda name: found[name]) == "Charles II"
