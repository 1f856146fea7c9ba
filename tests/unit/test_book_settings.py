"""The settings that a book's own birds propose, and what the checks refuse of a draft."""

from __future__ import annotations

import tomllib

import pytest

from matchmaker.taking_in.proposal import Proposal, propose
from matchmaker.taking_in.settings_proposed import Given
from tests.intake_books import guessed

COLUMNS = "Ring=bird,Sex=sex,Hatched=hatched,Sire=sire,Dam=dam,Race=breed,Comb=P"
FOUNDERS = (
    "C1;m;2023-04-01;;;Sussex;single",
    "H1;f;2023-04-01;;;Sussex;single",
    "H2;f;2023-04-01;;;Sussex;single",
    "B1;m;2023-04-01;;;Brahma;pea",
)
PENS = guessed("pens", "Pen=pen,Hens=hens_max", "1;4", "2;4")


def proposed(*rows: str, given: Given | None = None, **answers: str) -> Proposal:
    birds = guessed("birds", COLUMNS, *FOUNDERS, *rows)
    return propose([birds, PENS], given or Given(), answers)


def test_the_breed_most_birds_are_and_the_look_that_only_the_others_have() -> None:
    found = proposed("X1;f;2024-04-01;B1;H1;;pea")
    answers = found.settled.answers
    assert answers is not None
    assert (answers.breed, answers.locus, answers.copies) == ("Sussex", "P", 2)
    assert (answers.lines, found.found is not None) == (("Sussex", "project"), True)
    assert found.found is not None
    assert found.found.faults == ()


def test_where_pure_birds_show_it_too_the_gene_is_not_guessed() -> None:
    found = proposed("H3;f;2023-04-01;;;Sussex;pea")
    assert found.settled.missing == ("--trait",)
    assert found.files == {}


def test_how_frequent_an_allele_is_follows_from_what_pure_birds_show() -> None:
    """Three of four pure birds single: 1 − √(3/4) = 0.13 of the dominant allele."""
    found = proposed("H3;f;2023-04-01;;;Sussex;pea", given=Given(locus="P"))
    told = tomllib.loads(found.files["matchmaker.toml"])
    assert told["loci"]["P"]["frequency"] == {"Sussex": 0.13, "Brahma": 1}


@pytest.mark.parametrize(
    ("row", "left"),
    [
        ("X1;f;2024-04-01;H1;H2;;pea", "H1"),  # a hen as sire
        ("X1;f;2023-06-01;B1;H1;;pea", "B1"),  # a sire of two months
        ("X1;f;2024-04-01;C1;H1;;pea", "pea"),  # no parent has it
    ],
)
def test_what_the_checks_refuse_is_asked_left_out_and_listed(row: str, left: str) -> None:
    found = proposed(row, given=Given(locus="P"))
    assert found.found is not None
    assert found.found.faults == ()
    assert left in {one.text for one in found.taken.left}
    assert any(one.key.startswith("refused:birds:X1:") for one in found.questions)


def test_what_shall_be_kept_stays_and_stands_as_a_fault() -> None:
    key = "refused:birds:X1:sire:H1"
    found = proposed("X1;f;2024-04-01;H1;H2;;pea", given=Given(locus="P"), **{key: "keep it"})
    assert found.found is not None
    assert [fault.kind for fault in found.found.faults] == ["parent-sex"]
