"""Typed breed shares, purity nobody tested, and bands exchanged at hatching."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.builders import HOME, HOME_SEEN, checked, chick, cock, dna, hen, of_kind
from tests.unit.test_detect_names import cells

if TYPE_CHECKING:
    from pathlib import Path

    from tests.builders import Row


class TestTypedShares:
    def test_both_shares_are_shown_and_the_cell_can_be_emptied(self, tmp_path: Path) -> None:
        typed = "sussex:0.875|araucana:0.125"
        rows = [*HOME, chick("K", "hen", "SC", "AH", "Alder", breed=typed)]
        (found,) = of_kind(checked(tmp_path, rows).doubts, "breed-against-pedigree")
        assert (found.row, found.column, found.value) == (6, "breed", typed)
        assert found.problem == (
            "K is typed as 87.5 % (7/8) sussex and 12.5 % (1/8) araucana, its parents make it 75 % "
            "(3/4) sussex and 25 % (1/4) araucana; the share by pedigree is what the plan counts"
        )
        assert (cells(found), found.safe) == ([("birds", 6, "breed", typed, "")], False)

    def test_a_breed_that_is_not_the_recurrent_one_is_seen_too(self, tmp_path: Path) -> None:
        rows = [*HOME, hen("L", breed="leghorn"), cock("D", "Alder", "araucana")]
        rows.append(chick("K", "hen", "D", "L", "Alder", breed="araucana"))
        (found,) = of_kind(checked(tmp_path, rows).doubts, "breed-against-pedigree")
        assert "its parents make it 50 % (1/2) araucana and 50 % (1/2) leghorn" in found.problem

    def test_many_are_told_in_one(self, tmp_path: Path) -> None:
        young = [chick(f"K{at}", "hen", "SC", "AH", "Alder", breed="sussex") for at in range(8)]
        found = of_kind(checked(tmp_path, [*HOME, *young]).doubts, "breed-against-pedigree")
        (one,) = found
        assert one.problem.startswith("8 birds are typed as other shares of breeds than")
        assert len(one.mends) == len(one.birds) == 8

    def test_shares_that_agree_are_no_doubt(self, tmp_path: Path) -> None:
        rows = [*HOME, chick("K", "hen", "SC", "AH", "Alder", breed="sussex:0.75|araucana:0.25")]
        assert of_kind(checked(tmp_path, rows).doubts, "breed-against-pedigree") == []


class TestPurity:
    def doubted(self, path: Path, *rows: Row, seen: tuple[Row, ...] = ()) -> list[str]:
        found = checked(path, [*HOME, *rows], seen=[*HOME_SEEN, *seen])
        assert found.faults == ()
        return [one.problem for one in of_kind(found.doubts, "purity-unproven")]

    def test_two_copies_that_nothing_bears_out(self, tmp_path: Path) -> None:
        """Two carriers: a quarter of their chicks has two copies (Mendel)."""
        (told,) = self.doubted(tmp_path, chick("K", "hen", "AC", "AH", "Alder", O="2 copies"))
        assert told == (
            "K is written as having two copies of O (Blue eggshell), and no laboratory is named; "
            "by its kin and all looks that is 25 % likely. It is taken at its word, for the bird "
            "and its kin"
        )

    def test_a_laboratory_a_donor_and_a_look_are_believed(self, tmp_path: Path) -> None:
        rows = (
            chick("T", "hen", "AC", "AH", "Alder"),
            hen("D", "Alder", "araucana", O="O/O"),
            chick("L", "hen", "AC", "AH", "Alder", O="blue"),
        )
        assert self.doubted(tmp_path, *rows, seen=(dna("T", "O", 2),)) == []

    def test_many_are_told_in_one(self, tmp_path: Path) -> None:
        rows = [chick(f"K{at}", "hen", "AC", "AH", "Alder", O="2 copies") for at in range(4)]
        (told,) = self.doubted(tmp_path, *rows)
        assert told.startswith("4 birds are written as having two copies of O (Blue eggshell)")
        assert "K3 (birds.csv row 9, 25 %)" in told


class TestExchangedBands:
    PEA = "[loci.P]\nfrequency = {sussex = 0, araucana = 1}\n"
    ROWS = (
        *HOME,
        hen("D", "Alder", "araucana"),
        chick("X1", "hen", "SC", "SH", "Pure"),
        chick("X2", "hen", "SC", "D", "Alder"),
    )

    def seen(self, *looks: str) -> list[Row]:
        told = [look.split() for look in looks]
        return [{"bird": band, "locus": "P", "what": what, "how": "adult"} for band, what in told]

    def test_the_only_exchange_that_explains_all_comes_with_its_cells(self, tmp_path: Path) -> None:
        seen = self.seen("X1 pea", "X2 single")
        (found,) = checked(tmp_path, self.ROWS, self.PEA, seen=seen).faults
        assert "bands of X1 and X2 exchanged" in found.mend
        assert cells(found) == [("birds", 7, "dam", "SH", "D"), ("birds", 8, "dam", "D", "SH")]
        assert (found.safe, found.birds) == (False, ("X1", "X2"))

    def test_of_two_exchanges_none_is_proposed(self, tmp_path: Path) -> None:
        third = chick("X3", "hen", "SC", "D", "Alder")
        seen = self.seen("X1 pea")
        (found,) = checked(tmp_path, [*self.ROWS, third], self.PEA, seen=seen).faults
        assert "exchanged" in found.mend
        assert found.mends == ()

    def test_birds_of_one_pen_may_have_been_exchanged_too(self, tmp_path: Path) -> None:
        later = chick("X4", "hen", "SC", "D", "Alder", hatched="2026-05-01")
        rows = [*self.ROWS[:-1], later]
        moves = [{"bird": band, "pen": "Yard", "moved_in": "2026-08-01"} for band in ("X1", "X4")]
        seen = self.seen("X1 pea", "X4 single")
        (alone,) = checked(tmp_path / "alone", rows, self.PEA, seen=seen).faults
        assert (alone.mends, "exchanged" in alone.mend) == ((), False)
        (found,) = checked(tmp_path / "penned", rows, self.PEA, seen=seen, moves=moves).faults
        assert "bands of X1 and X4 exchanged" in found.mend
        assert [cell.row for cell in found.mends] == [7, 8]


def test_counts_of_chicks_do_not_repeat_that_a_sex_is_wrong(tmp_path: Path) -> None:
    rows = [*HOME, cock("B"), *(chick(f"K{at}", "hen", "SC", "B", "Pure") for at in range(3))]
    seen = [{"hen": "B", "cock": "SC", "locus": "P", "what": "pea", "count": "3"}]
    found = checked(tmp_path, rows, "[loci.P]\n", seen=seen).faults
    assert [one.kind for one in found] == ["sex-contradicted"]


def test_a_mistyped_look_is_met_with_the_word_that_is_meant(tmp_path: Path) -> None:
    seen = [{"bird": "SH", "locus": "P", "what": "pee", "how": "adult"}]
    found = checked(tmp_path, HOME, "[loci.P]\n", seen=seen).faults
    (one,) = of_kind(found, "unknown-class")
    assert one.mend.startswith("did you mean pea? Otherwise write one of: pea, ")


def test_a_chick_looked_at_on_its_hatching_day_is_day_old(tmp_path: Path) -> None:
    rows = [*HOME, chick("K", "hen", "SC", "SH", "Pure")]
    look = {"date": "2026-04-01", "bird": "K", "locus": "P", "what": "single", "how": "adult"}
    found = checked(tmp_path, rows, "[loci.P]\n", seen=[look])
    assert of_kind(found.doubts, "too-young-to-show") == []
