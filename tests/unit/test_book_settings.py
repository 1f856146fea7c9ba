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


def test_of_many_birds_one_is_never_made_impossible() -> None:
    """One of 202 pure birds has a pea comb: 1 − √(201/202) = 0.002, which is not written as 0."""
    single = [f"S{at};f;2023-04-01;;;Sussex;single" for at in range(198)]
    found = proposed(*single, "H3;f;2023-04-01;;;Sussex;pea", given=Given(locus="P"))
    told = tomllib.loads(found.files["matchmaker.toml"])
    assert told["loci"]["P"]["frequency"]["Sussex"] == 0.01
    assert found.found is not None
    assert found.found.faults == ()


def test_hens_show_the_one_allele_they_have_on_the_z() -> None:
    """Silver on the Z: half the hens and one cock of one, (4 · 0.5 + 1 · 1) / 5 = 0.6."""
    hens = [f"S{at};f;2023-04-01;;;Brahma;{look}" for at, look in enumerate(["silver", "gold"] * 2)]
    cock = "S9;m;2023-04-01;;;Brahma;silver"
    columns = COLUMNS.replace("Comb=P", "Colour=S")
    rows = ["C1;m;2023-04-01;;;Sussex;gold", "H1;f;2023-04-01;;;Sussex;gold"]
    found = propose(
        [guessed("birds", columns, *rows, cock, *hens), PENS], Given(breed="Sussex", locus="S"), {}
    )
    told = tomllib.loads(found.files["matchmaker.toml"])
    assert told["loci"]["S"]["frequency"] == {"Sussex": 0, "Brahma": 0.6}


def test_a_bird_is_in_the_line_of_its_pure_parents_in_whatever_order_they_stand() -> None:
    late = ("X2;f;2025-04-01;X1;H1;;single", "X1;m;2024-04-01;C1;H2;;single")
    found = proposed(*late, given=Given(locus="P"))
    lines = {row["bird"]: row["line"] for row in found.taken.tables["birds"]}
    assert (lines["X1"], lines["X2"], lines["B1"]) == ("Sussex", "Sussex", "project")


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
