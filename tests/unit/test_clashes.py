"""Faults for records that cannot all be true: in the words of a keeper, with what to check."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from matchmaker.flock.pedigree import Pool
from matchmaker.genetics.clash.clash_words import Wording, exchange_sentences, independent_lists
from matchmaker.genetics.clash.corrections import Clash
from matchmaker.genetics.clash.suppositions import ParentRight, PoolPure, SexRight
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Allele
from matchmaker.tables.folder import FolderTables
from matchmaker.tables.records import Sex
from tests.builders import Row, checked, chick, cock, hen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.errors import Fault
    from matchmaker.genetics.clash.suppositions import Supposition

TOP = 'season = 2027\nrecurrent = "langshan"\ntarget = {lav = 2}\n'
PURE = {"breed": "langshan", "source": "Hill"}
GREY = {"line": "Grey", "breed": "orpington"}
BIRDS: tuple[Row, ...] = (
    cock("LC", **PURE),
    hen("LH", **PURE),
    cock("GC", **GREY),
    hen("GH", **GREY),
)


def faults(path: Path, *birds: Row, seen: tuple[Row, ...] = ()) -> list[Fault]:
    tables = {"seen": seen} if seen else {}
    return list(checked(path, [*BIRDS, *birds], "", TOP, **tables).faults)


def test_the_records_are_named_with_file_row_and_bird(tmp_path: Path) -> None:
    birds = (
        chick("A", "hen", "GC", "GH", "Grey", lav="black"),
        chick("B", "hen", "LC", "LH", "", lav="black"),
    )
    (fault,) = faults(tmp_path, *birds)
    assert (fault.kind, fault.file, fault.row, fault.column) == (
        "contradiction",
        "birds.csv",
        6,
        "lav",
    )
    assert fault.problem == (
        "this record on Lavender (lav) cannot be true: birds.csv row 6 (A): black"
    )


def test_what_would_explain_it_is_a_list_to_check_in_the_pen(tmp_path: Path) -> None:
    (fault,) = faults(
        tmp_path,
        chick("A", "hen", "GC", "GH", "Grey", lav="lavender"),
        chick("B", "hen", "LC", "GH", "Grey", lav="lavender"),
    )
    assert fault.mend.splitlines() == [
        "any one of these would explain it, the likelier first; check them in the pen:",
        "- what was seen of B is wrong (birds.csv row 7: lavender)",
        "- sire of B is not LC",
        (
            "- not all founders of the breed langshan from Hill are free of Lavender (say so as "
            "frequency under [loci.lav])"
        ),
    ]


def test_exchanged_bands_come_first(tmp_path: Path) -> None:
    (fault,) = faults(
        tmp_path,
        chick("A", "hen", "GC", "GH", "Grey", lav="black"),
        chick("B", "hen", "LC", "LH", "Pure", lav="lavender"),
        chick("C", "hen", "LC", "LH", "Pure", hatched="2026-05-09", lav="black"),
    )
    assert fault.mend.splitlines()[:2] == [
        "this would explain it; check it in the pen:",
        "- bands of A and B exchanged",
    ]


def test_else_two_things_are_wrong_one_of_each_list(tmp_path: Path) -> None:
    (fault,) = faults(
        tmp_path,
        chick("A", "hen", "GC", "GH", "Grey", lav="black"),
        chick("B", "hen", "LC", "GH", "Grey", hatched="2026-05-09", lav="lavender"),
    )
    heading, *lines = fault.mend.splitlines()
    assert heading == "at least two things are wrong, one of each list; check them in the pen:"
    assert "- list 1: what was seen of A is wrong (birds.csv row 6: black)" in lines
    assert "- list 2: sire of B is not LC" in lines


def test_a_count_of_chicks_may_be_wrong(tmp_path: Path) -> None:
    count = {"hen": "GH", "cock": "GC", "locus": "lav", "what": "3 black", "how": "day-old"}
    (fault,) = faults(tmp_path, seen=(count,))
    assert "the count of chicks of GH × GC is wrong (seen.csv row 2: 3 black)" in fault.mend
    assert "seen.csv row 2 (GH × GC): 3 black" in fault.problem


def test_what_explains_two_loci_comes_first_and_says_so(tmp_path: Path) -> None:
    found = faults(
        tmp_path,
        chick("B", "hen", "LC", "GH", "Grey", lav="lavender", mo="mottled"),
    )
    assert [fault.column for fault in found] == ["lav", "mo"]
    for fault, other in zip(found, ("Mottling (mo)", "Lavender (lav)"), strict=True):
        _, first, second, *_ = fault.mend.splitlines()
        assert first == f"- sire of B is not LC (would explain what clashes at {other} too)"
        assert second.startswith("- what was seen of B is wrong (birds.csv row 6: ")


def test_an_exchange_that_explains_two_loci_says_so(tmp_path: Path) -> None:
    found = faults(
        tmp_path,
        chick("A", "hen", "GC", "GH", "Grey", lav="black", P="single"),
        chick("B", "hen", "LC", "LH", "Pure", lav="lavender", P="pea"),
    )
    assert len(found) == 2
    assert all("- bands of A and B exchanged (would explain what" in one.mend for one in found)


def test_an_exchange_that_another_locus_forbids_is_not_named(tmp_path: Path) -> None:
    (fault,) = faults(
        tmp_path,
        chick("A", "hen", "GC", "GH", "Grey", lav="black", P="pea"),
        chick("B", "hen", "LC", "LH", "Pure", lav="lavender", P="single"),
    )
    assert fault.column == "lav"
    assert "exchanged" not in fault.mend


def test_birds_that_could_not_be_in_books_at_all_are_the_settings_matter(tmp_path: Path) -> None:
    found = checked(tmp_path, BIRDS, "[loci.Cp.frequency]\norpington = 1\n", TOP)
    (fault,) = found.faults
    assert (fault.kind, fault.column) == ("impossible-pedigree", "loci.Cp")
    assert fault.mend.splitlines() == [
        "this would explain it; check it in the pen:",
        (
            "- not all founders of the breed orpington are pure for Creeper (short legs) (say so "
            "as frequency under [loci.Cp])"
        ),
    ]


WORDING = Wording(FolderTables(folder=Path(), settings=None), catalogue()["lav"], "langshan")
A, B, C, D = (SexRight(band) for band in "ABCD")


@pytest.mark.parametrize(
    ("supposition", "sentence"),
    [
        (A, "A is sexed wrongly"),
        (ParentRight("A", Sex.COCK, ("S",)), "sire of A is not S"),
        (ParentRight("A", Sex.HEN, ("S", "T", "U")), "dam of A is not S, T or U"),
        (ParentRight("A", Sex.HEN, tuple("STUVW")), "dam of A is none of the 5 it could be"),
        (
            ParentRight("A", Sex.HEN, (Pool("langshan", "Hill"),)),
            "dam of A is not a founder of the breed langshan from Hill",
        ),
        (
            PoolPure(Pool("orpington")),
            (
                "not all founders of the breed orpington are pure for Lavender (say so as "
                "frequency under [loci.lav])"
            ),
        ),
    ],
)
def test_a_supposition_gone_wrong_in_words(supposition: Supposition, sentence: str) -> None:
    assert WORDING.wrong(supposition) == sentence


def test_of_a_series_it_is_said_what_is_taken_of_a_breed() -> None:
    series = (Allele(symbol="lav"), Allele(symbol="Lav+"))
    wording = Wording(
        FolderTables(folder=Path(), settings=None),
        replace(catalogue()["lav"], series=series),
        "langshan",
    )
    assert "are what is taken of them at Lavender" in wording.wrong(PoolPure(Pool("orpington")))


def clash(
    corrections: Sequence[Sequence[Supposition]], least: int, *, unlisted: bool = False
) -> Clash:
    return Clash(
        records=(),
        corrections=tuple(map(tuple, corrections)),
        exchanges=(),
        mistakes_min=least,
        unlisted=unlisted,
    )


def test_sets_that_are_no_lists_are_written_out() -> None:
    assert WORDING.mend(clash([(A, B), (C, D)], 2), {}).splitlines() == [
        "at least two things are wrong; any of these together would explain it:",
        "- A is sexed wrongly; and B is sexed wrongly",
        "- C is sexed wrongly; and D is sexed wrongly",
    ]


def test_sets_that_are_not_all_listed_are_examples() -> None:
    first = WORDING.mend(clash([(A, B), (C, B)], 2, unlisted=True), {}).splitlines()[0]
    assert first == "at least two things are wrong; these together, for example, would explain it:"


def test_too_many_mistakes_to_name() -> None:
    text = WORDING.mend(clash([], 4), {})
    assert text == "at least four things are wrong; begin with the records named here"


def test_where_no_bird_can_live_the_settings_are_wrong() -> None:
    text = WORDING.mend(clash([], 0), {})
    assert text == "no bird could live by what [loci.lav] says: correct it"


def test_an_exchange_and_else_several_mistakes() -> None:
    both = replace(clash([(A, B)], 2), exchanges=(("X", "Y"),))
    assert WORDING.mend(both, {}).splitlines() == [
        "this would explain it; check it in the pen:",
        "- bands of X and Y exchanged",
        "else at least two things are wrong, one of each list; check them in the pen:",
        "- list 1: A is sexed wrongly",
        "- list 2: B is sexed wrongly",
    ]


def test_many_exchanges_of_one_bird_are_one_sentence() -> None:
    pairs = tuple((f"B{n}", "Z") for n in range(10))
    (sentence,) = exchange_sentences(replace(clash([], 1), exchanges=pairs))
    assert sentence == "bands of Z and one of B0, B1, B2, B3, B4, B5, B6, B7 or 2 more exchanged"


def test_lists_are_free_only_if_every_choice_is_a_correction() -> None:
    assert independent_lists([(A, C), (A, D), (B, C), (B, D)]) == [[A, B], [C, D]]
    assert independent_lists([(A, C), (A, D), (B, C)]) == []
