"""What a mistyped name may be meant for, and names that drift apart."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest

from matchmaker.tables.nearness import Lexicon, Likeness, Near, close_matches, meant, near
from tests.builders import TOP, chick, cock, hen, table
from tests.unit.tables_helpers import birds, read

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables
    from tests.builders import Row

Cell = tuple[str, int, str, str, str | None]


def cells(found: Fault) -> list[Cell]:
    """Return the cells that a mend would write."""
    return [(one.table, one.row, one.column, one.was, one.becomes) for one in found.mends]


def tables_of(path: Path, *rows: Row, **tables: str) -> FolderTables:
    return read(path, settings=TOP, birds=table(rows), **tables)


def only(found: tuple[Fault, ...], kind: str) -> Fault:
    """Return the only finding of a kind."""
    (one,) = (fault for fault in found if fault.kind == kind)
    return one


BANDS = Lexicon(["S23-001", "S23-012", "H7", "H71", "24-117", "Old Grey"])


@pytest.mark.parametrize(
    ("typed", "names", "likeness"),
    [
        ("s23-001", ("S23-001",), Likeness.SPACING),
        ("S23 -001", ("S23-001",), Likeness.SPACING),
        ("S23\u200b-001", ("S23-001",), Likeness.SPACING),
        ("S23001", ("S23-001",), Likeness.SIGNS),
        ("S23-O12", ("S23-012",), Likeness.SIGNS),
        ("S23-0I2", ("S23-012",), Likeness.SIGNS),
        ("117", ("24-117",), Likeness.YEAR),
        ("S32-001", ("S23-001",), Likeness.LETTER),
        ("S23-01", ("S23-001", "S23-012"), Likeness.LETTER),
        ("S23-011", ("S23-001", "S23-012"), Likeness.LETTER),
        ("H17", ("H7", "H71"), Likeness.LETTER),
        ("Old Gray hen", ("Old Grey",), Likeness.SHAPE),
        ("H9", (), Likeness.SHAPE),
        ("--", (), Likeness.SHAPE),
    ],
)
def test_the_nearest_names_are_found(
    typed: str, names: tuple[str, ...], likeness: Likeness
) -> None:
    assert BANDS.near(typed) == Near(names=names, likeness=likeness)


def test_only_names_that_fit_are_guessed_but_writing_is_taken_at_its_word() -> None:
    fits = {"S23-012"}.__contains__
    assert BANDS.near("S23-011", fits).names == ("S23-012",)
    assert BANDS.near("S23-01", {"H7"}.__contains__).names == ()
    assert BANDS.near("s23-001", fits).names == ("S23-001",)


@pytest.mark.parametrize(
    ("names", "asked"),
    [
        ((), "add it"),
        (("A",), "did you mean A? Otherwise add it"),
        (("A", "B"), "did you mean A or B? Both are as near. Otherwise add it"),
        (("A", "B", "C"), "3 are as near (A, B, C). Otherwise add it"),
        (("A", "B", "C", "D"), "4 are as near (A, B, C, ...). Otherwise add it"),
    ],
)
def test_equally_near_names_are_all_told(names: tuple[str, ...], asked: str) -> None:
    assert meant(Near(names=names), "add it") == asked


def test_single_words_are_met_as_before() -> None:
    assert (near("hatchd", ["sire", "hatched"]), near("zz", ["sire"])) == ("hatched", None)
    assert close_matches("brids", ["birds", "pens"], like=0.75) == ["birds"]


def test_many_mistyped_bands_among_many_are_met_in_little_time() -> None:
    known = Lexicon(f"A{number:05d}" for number in range(10_000))
    begun = time.process_time()
    found = [known.near(f"a{number:05d}").only for number in range(0, 10_000, 10)]
    found += [known.near(f"A{number:05d}x").only for number in range(0, 10_000, 100)]
    assert found.count(None) == 0
    assert time.process_time() - begun < 2


class TestBands:
    def test_a_sire_is_looked_for_among_cocks_that_lived_then(self, tmp_path: Path) -> None:
        rows = (
            hen("S25-001"),
            cock("S25-002"),
            cock("S26-001", hatched="2026-03-01"),
            chick("K", "hen", "S25-001x", "S25-001", "Pure"),
        )
        found = read_parents(tmp_path, *rows)
        assert found == []  # the only band one letter off is a hen's

    def test_writing_alone_is_mended_safely(self, tmp_path: Path) -> None:
        rows = (cock("SC"), hen("SH"), chick("K", "hen", "sc", "SH", "Pure"))
        scores = "bird,date,weight\ns h,2026-01-01,2000\n"
        tables = tables_of(tmp_path, *rows, scores=scores)
        found = only(tables.faults, "unknown-bird")
        assert found.mend == "did you mean SH? Otherwise add a row for s h to the birds"
        assert (cells(found), found.safe) == ([("scores", 2, "bird", "s h", "SH")], True)

    def test_a_bird_that_was_not_here_then_is_no_safe_mend(self, tmp_path: Path) -> None:
        rows = (cock("SC", hatched="2026-03-01"),)
        scores = "bird,date,weight\nsc,2025-01-01,2000\n"
        found = only(tables_of(tmp_path, *rows, scores=scores).faults, "unknown-bird")
        assert (cells(found), found.safe) == ([("scores", 2, "bird", "sc", "SC")], False)

    def test_one_of_several_parents_is_mended_in_its_cell(self, tmp_path: Path) -> None:
        seen = "hen,cock,locus,what,count\nsh|SI,SC,P,pea,3\n"
        rows = (cock("SC"), hen("SH"), hen("SI"))
        found = only(tables_of(tmp_path, *rows, seen=seen).faults, "unknown-bird")
        assert cells(found) == [("seen", 2, "hen", "sh|SI", "SH|SI")]

    def test_a_pen_and_a_partner_come_with_their_cells(self, tmp_path: Path) -> None:
        rows = (cock("SC"), hen("SH"))
        tables = tables_of(
            tmp_path, *rows, moves="bird,pen\nSH,yard\n", wishes="bird,with,wish\nSH,Yrd,apart\n"
        )
        pen, wish = only(tables.doubts, "unknown-pen"), only(tables.faults, "unknown-partner")
        assert (cells(pen), pen.safe) == ([("moves", 2, "pen", "yard", "Yard")], True)
        assert (cells(wish), wish.safe) == ([("wishes", 2, "with", "Yrd", "Yard")], False)


def read_parents(path: Path, *rows: Row) -> list[str]:
    """Return the bands proposed for unknown parents."""
    from matchmaker.flock.suspects import pedigree_faults

    tables = tables_of(path, *rows)
    return [
        cell.becomes or ""
        for fault in pedigree_faults(tables)
        if fault.kind == "unknown-parent"
        for cell in fault.mends
    ]


class TestDrift:
    HEADER = "bird,sex,sire,dam,line,breed,source"

    def drifted(self, path: Path, *rows: str, settings: str = TOP, **tables: str) -> list[Fault]:
        found = read(path, settings=settings, birds=birds(*rows, header=self.HEADER), **tables)
        return [one for one in found.doubts if one.kind == "similar-names"]

    def test_the_spelling_of_most_rows_is_the_safe_mend(self, tmp_path: Path) -> None:
        rows = [f"A{at},hen,,,Alder,sussex," for at in range(3)]
        pens = "pen,hens_max,line\nYard,6,alder\n"
        (found,) = self.drifted(tmp_path, *rows, "B,hen,,,alder,sussex,", pens=pens)
        assert found.problem == (
            "alder and Alder are taken for two, as they are written differently (2 rows and 3 rows)"
        )
        assert found.mend == "write Alder everywhere if one is meant"
        assert (found.row, found.safe) == (5, True)
        assert cells(found) == [
            ("birds", 5, "line", "alder", "Alder"),
            ("pens", 2, "line", "alder", "Alder"),
        ]

    def test_what_the_settings_write_is_the_spelling(self, tmp_path: Path) -> None:
        rows = [f"A{at},hen,,,Alder,sussex," for at in range(3)]
        settings = TOP + "[lines.alder]\nimportance = 2\n"
        (found,) = self.drifted(tmp_path, *rows, "B,hen,,,alder,sussex,", settings=settings)
        assert [one.becomes for one in found.mends] == ["alder"] * 3
        assert found.safe

    def test_line_a_and_a_may_be_one_but_that_is_no_safe_mend(self, tmp_path: Path) -> None:
        rows = ("A1,hen,,,A,sussex,", "A2,hen,,,A,sussex,", "A3,hen,,,Line A,sussex,")
        (found,) = self.drifted(tmp_path, *rows)
        assert (found.value, found.row, found.safe) == ("Line A", 4, False)
        assert cells(found) == [("birds", 4, "line", "Line A", "A")]

    @pytest.mark.parametrize(("name", "main"), [("1-2", "12"), ("1 2", "12"), ("A+", "A")])
    def test_signs_and_figures_may_tell_two_lines_apart(
        self, tmp_path: Path, name: str, main: str
    ) -> None:
        rows = [f"A{at},hen,,,{main},sussex," for at in range(3)]
        (found,) = self.drifted(tmp_path, *rows, f"B,hen,,,{name},sussex,")
        assert (found.value, found.safe) == (name, False)
        assert cells(found) == [("birds", 5, "line", name, main)]

    def test_a_letter_off_a_frequent_name_is_doubted(self, tmp_path: Path) -> None:
        rows = [f"A{at},hen,,,Alder,sussex," for at in range(4)]
        (found,) = self.drifted(tmp_path, *rows, "B,hen,,,Aldr,sussex,")
        assert (found.value, found.safe) == ("Aldr", False)

    @pytest.mark.parametrize("other", ["Birch 2", "Line B", "Elder"])
    def test_names_that_are_two_are_not_doubted(self, tmp_path: Path, other: str) -> None:
        first = {"Birch 2": "Birch 1", "Line B": "Line A", "Elder": "Alder"}[other]
        rows = [f"A{at},hen,,,{first},sussex," for at in range(3)]
        assert self.drifted(tmp_path, *rows, f"B,hen,,,{other},sussex,") == []

    def test_two_pens_of_nearly_one_name_are_doubted(self, tmp_path: Path) -> None:
        pens = "pen,hens_max\nYard,6\nOrchard,6\nyard,8\n"
        (found,) = self.drifted(tmp_path, "A1,hen,,,Alder,sussex,", pens=pens)
        assert (found.file, found.row, found.value) == ("pens.csv", 4, "yard")
        assert (found.mends, found.safe) == ((), False)

    def test_two_columns_of_nearly_one_trait_are_doubted(self, tmp_path: Path) -> None:
        scores = "bird,weight,wieght\nA1,2,3\n"
        (found,) = self.drifted(tmp_path, "A1,hen,,,Alder,sussex,", scores=scores)
        assert (found.file, found.column, found.value) == ("scores.csv", "wieght", "wieght")


class TestOddSigns:
    def test_signs_nobody_sees_are_mended_wherever_the_band_stands(self, tmp_path: Path) -> None:
        rows = (cock("SC\u200b"), hen("SH"))
        scores = "bird,weight\nSC\u200b,3\n"
        tables = tables_of(tmp_path, *rows, scores=scores)
        found = [one for one in tables.doubts if one.kind == "unseen-signs"]
        assert [cells(one) for one in found] == [
            [("birds", 2, "bird", "SC\u200b", "SC")],
            [("scores", 2, "bird", "SC\u200b", "SC")],
        ]
        assert all(one.safe for one in found)
        assert found[0].problem == (
            "there are signs in SC that nobody sees (zero width space), so it is not the SC it "
            "looks like"
        )

    def test_many_such_bands_are_told_in_one(self, tmp_path: Path) -> None:
        rows = [hen(f"B\u200b{at}") for at in range(8)]
        found = only(tables_of(tmp_path, *rows).doubts, "unseen-signs")
        assert found.problem == (
            "8 cells of the column bird have signs that nobody sees: row 2 B0, row 3 B1, row 4 B2, "
            "row 5 B3 and 4 more"
        )
        assert ([cell[-1] for cell in cells(found)], found.safe) == (
            [f"B{at}" for at in range(8)],
            True,
        )

    def test_a_band_that_would_meet_another_is_no_safe_mend(self, tmp_path: Path) -> None:
        tables = tables_of(tmp_path, cock("SC\u00ad"), cock("SC"))
        assert not only(tables.doubts, "unseen-signs").safe

    def test_who_writes_the_band_rightly_is_not_led_to_the_odd_one(self, tmp_path: Path) -> None:
        tables = tables_of(tmp_path, cock("SC\u200b"), scores="bird,weight\nSC,3\n")
        found = only(tables.faults, "unknown-bird")
        assert (found.mends, found.safe) == ((), False)
        assert found.mend == (
            "mend the band in row 2 of the birds, which has signs that nobody sees"
        )

    @pytest.mark.parametrize("name", ["Grünhof", "\u06cc\u200c\u062e", "Hof 3", "O'Neill"])
    def test_letters_of_any_script_are_nothing_odd(self, tmp_path: Path, name: str) -> None:
        assert tables_of(tmp_path, cock("SC", source=name)).doubts == ()

    @pytest.mark.parametrize(
        ("band", "kind"),
        [("=SUM(A1)", "formula-like"), ("@x", "formula-like"), ("x" * 61, "long-name")],
    )
    def test_formulas_and_remarks_are_doubted(self, tmp_path: Path, band: str, kind: str) -> None:
        found = only(tables_of(tmp_path, cock(band), hen("-7")).doubts, kind)
        assert (found.row, found.column, found.safe) == (2, "bird", False)


class TestWords:
    def test_a_mistyped_word_comes_with_the_one_that_is_meant(self, tmp_path: Path) -> None:
        rows = (cock("SC", status="bredeer"), hen("SH"))
        found = only(tables_of(tmp_path, *rows).faults, "bad-status")
        assert found.mend.startswith("did you mean breeder? Otherwise write breeder, young, ")
        assert (cells(found), found.safe) == (
            [("birds", 2, "status", "bredeer", "breeder")],
            False,
        )

    def test_a_word_like_none_is_only_asked_for(self, tmp_path: Path) -> None:
        found = only(tables_of(tmp_path, cock("SC", status="zzz")).faults, "bad-status")
        assert found.mend.startswith("write breeder, young, ")
        assert found.mends == ()
