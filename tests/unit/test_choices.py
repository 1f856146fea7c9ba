"""Unknown parents that would fill the memory are refused before anything is built."""

from __future__ import annotations

import pytest

from matchmaker.genetics.genotypes import choices
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.loci.catalogue import catalogue
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence

PEA = catalogue()["P"]
FLOCK = pedigree(
    *(f"C{n} cock donor|recurrent donor|recurrent" for n in (1, 2, 3)),
    "H hen donor|recurrent donor|recurrent",
    *(f"K{n} cock C1|C2|C3 H" for n in range(4)),
)
SEEN = evidence(FLOCK, PEA, {f"K{n}": "pea" for n in range(4)})


def test_parents_out_of_a_breed_are_no_choice(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twelve birds to choose from, three for each of four chicks; founders' breeds do not count."""
    monkeypatch.setattr(choices, "SELECTIONS_MAX", 12)
    assert genotype_probabilities(FLOCK, PEA, SEEN, "recurrent").method == "exact"


def test_one_choice_more_is_refused_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(choices, "SELECTIONS_MAX", 11)
    with pytest.raises(TooTangledError, match="4 parents are unknown, with 3 birds to choose from"):
        genotype_probabilities(FLOCK, PEA, SEEN, "recurrent")


def test_wide_tables_are_refused_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tables of 3 choices, 3 by 3 states, for each of the three: 81 cells, shared by all chicks."""
    monkeypatch.setattr(choices, "SELECTED_MAX", 81)
    assert genotype_probabilities(FLOCK, PEA, SEEN, "recurrent").method == "exact"
    monkeypatch.setattr(choices, "SELECTED_MAX", 80)
    with pytest.raises(TooTangledError):
        genotype_probabilities(FLOCK, PEA, SEEN, "recurrent")
