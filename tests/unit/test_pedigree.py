"""A small pedigree written out, a line for each bird."""

from __future__ import annotations

import pytest

from matchmaker.flock.pedigree import LIKELY, Pool, pedigree_of
from matchmaker.tables.records import Sex


def test_words_of_a_line() -> None:
    found = pedigree_of(
        "C cock sussex sussex",
        "D cock sussex araucana|sussex",
        "H hen sussex sussex",
        "X ? C:0.9|D:0.1 H 7",
        breeds=("brahma",),
        base=0.25,
    )
    assert found.pools == (Pool("araucana"), Pool("brahma"), Pool("sussex"))
    assert found.bases[2] == (0.0, 0.0, 0.25)
    assert found.sexes == (Sex.COCK, Sex.COCK, Sex.HEN, None)
    assert found.dams[1] == ((0, 0.5), (2, 0.5))
    assert found.sires[3] == ((3, 0.9), (4, 0.1))
    assert found.clutches == (None, None, None, 7)


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (["A cock sussex"], "each line is"),
        (["A bull sussex sussex"], "each line is"),
        (["X hen A sussex", "A cock sussex sussex"], "a parent of X stands below it"),
        (["X hen X sussex"], "a parent of X stands below it"),
    ],
)
def test_lines_that_cannot_be_read_are_refused(lines: list[str], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        pedigree_of(*lines)


def test_birds_among_possible_parents_are_told_from_some_chance_on() -> None:
    found = pedigree_of("A cock sussex sussex", "B cock sussex sussex", "X ? A:0.9|B:0.1 A|sussex")
    assert found.birds_among(found.sires[2]) == (("A", 0.9), ("B", 0.1))
    assert found.birds_among(found.sires[2], LIKELY) == (("A", 0.9),)
    assert found.birds_among(found.dams[2]) == (("A", 0.5),)
