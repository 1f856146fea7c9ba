"""Bands used again, rows written twice, sexes that other rows contradict, stays without an end."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.flock.suspects import pedigree_faults
from tests.builders import TOP, bird, checked, chick, cock, hen, table
from tests.unit.tables_helpers import read
from tests.unit.test_detect_names import cells, only, tables_of

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.errors import Fault
    from tests.builders import Row

OLD = (cock("SC", hatched="2022-03-01"), hen("SH", hatched="2022-03-01"))


class TestBandsInTwoRows:
    def test_a_band_of_two_years_is_told_as_used_again(self, tmp_path: Path) -> None:
        rows = (
            *OLD,
            hen("27", hatched="2023-03-01"),
            hen("27", hatched="2025-03-05"),
            chick("Y", "hen", "SC", "27", "Pure", hatched="2024-04-01"),
            chick("Z", "hen", "SC", "27", "Pure", hatched="2026-04-01"),
        )
        scores = "bird,date,weight\n27,2023-08-01,2000\n"
        found = only(tables_of(tmp_path, *rows, scores=scores).faults, "band-reused")
        assert (found.file, found.row, found.column, found.value) == ("birds.csv", 5, "bird", "27")
        assert found.problem == (
            "the band 27 was used again: the rows 4, 5 are birds hatched in 2023 and 2025; row 4 "
            "was used"
        )
        assert found.mend == (
            "add the year: row 4 27-2023, row 5 27-2025; by their days 27-2023 is meant in birds "
            "row 6 (dam), scores row 2 (bird); which is meant is not clear in birds row 7 (dam)"
        )
        assert cells(found) == [
            ("birds", 4, "bird", "27", "27-2023"),
            ("birds", 5, "bird", "27", "27-2025"),
            ("birds", 6, "dam", "27", "27-2023"),
            ("scores", 2, "bird", "27", "27-2023"),
        ]
        assert not found.safe

    def test_a_band_with_the_year_that_is_taken_is_not_proposed(self, tmp_path: Path) -> None:
        rows = (
            hen("27", hatched="2023-03-01"),
            hen("27", hatched="2025-03-05"),
            hen("27-2023", hatched="2023-03-01"),
        )
        found = only(tables_of(tmp_path, *rows).faults, "band-reused")
        assert cells(found)[0][-1] == "27-2023-2"

    def test_a_row_alike_in_every_cell_can_go(self, tmp_path: Path) -> None:
        found = only(tables_of(tmp_path, *OLD, OLD[1]).faults, "row-twice")
        assert found.problem == "row 4 is row 3 once more, alike in every cell"
        assert (cells(found), found.safe) == ([("birds", 4, "", "SH", None)], True)

    def test_a_note_that_differs_is_not_lost(self, tmp_path: Path) -> None:
        rows = ({**OLD[1], "notes": "left leg"}, {**OLD[1], "notes": "right leg"})
        found = only(tables_of(tmp_path, *rows).faults, "duplicate-bird")
        assert (found.mends, found.safe) == ((), False)

    def test_three_rows_are_each_told(self, tmp_path: Path) -> None:
        rows = (OLD[1], OLD[1], {**OLD[1], "hatched": "2024-03-01"})
        tables = tables_of(tmp_path, *rows)
        assert [(one.kind, one.row) for one in tables.faults] == [
            ("row-twice", 3),
            ("band-reused", 4),
        ]
        assert [one.row for one in tables.birds] == [2]

    def test_a_table_pasted_twice_is_told_in_one_sentence(self, tmp_path: Path) -> None:
        rows = [hen(f"B{at}") for at in range(8)]
        faults = tables_of(tmp_path, *rows, *rows).faults
        assert {one.problem for one in faults} == {
            "8 rows stand here once more, as row 10 does of row 2, alike in every cell"
        }
        assert [(one.row, one.birds) for one in faults] == [
            (at + 10, (f"B{at}",)) for at in range(8)
        ]

    @pytest.mark.parametrize(
        ("name", "content", "safe"),
        [
            ("moves", "bird,pen,moved_in\nSH,Yard,2026-02-01\nSH,Yard,2026-02-01\n", True),
            ("wishes", "bird,with,wish\nSH,SC,apart\nSH,SC,apart\n", True),
            ("seen", "date,bird,locus,what\n2026-01-01,SH,P,pea\n2026-01-01,SH,P,pea\n", True),
            ("seen", "bird,locus,what\nSH,P,pea\nSH,P,pea\n", False),
            ("seen", "hen,cock,locus,what,count\nSH,SC,P,pea,3\nSH,SC,P,pea,3\n", False),
            ("eggs", "pen,eggs\nYard,9\nYard,9\n", False),
            ("pens", "pen,hens_max\nYard,9\nYard,9\n", True),
        ],
    )
    def test_rows_of_other_tables(
        self, tmp_path: Path, name: str, content: str, *, safe: bool
    ) -> None:
        tables = read(tmp_path, settings=TOP, birds=table(OLD), **{name: content})
        (found,) = [*tables.faults, *tables.doubts]
        assert (found.kind, found.file, found.row) == ("row-twice", f"{name}.csv", 3)
        assert (found.safe, found.mends[0].becomes) == (safe, None)
        assert found.mend.endswith("row 3") is safe

    def test_bands_that_differ_by_a_year_in_front_may_be_one(self, tmp_path: Path) -> None:
        rows = (hen("017", hatched="2024-03-01"), hen("24-017", hatched="2024"))
        found = only(tables_of(tmp_path, *rows).doubts, "year-in-front")
        assert (found.row, found.value) == (3, "24-017")

    @pytest.mark.parametrize(
        "other",
        [
            hen("24-017", hatched="2025-03-01"),
            cock("24-017", hatched="2024-03-01"),
            hen("A24-017", hatched="2024-03-01"),
        ],
    )
    def test_birds_that_are_surely_two_are_not_doubted(self, tmp_path: Path, other: Row) -> None:
        assert tables_of(tmp_path, hen("017", hatched="2024-03-01"), other).doubts == ()


def pedigree_findings(path: Path, *rows: Row, **tables: str) -> list[Fault]:
    found = tables_of(path, *rows, **tables)
    return [*found.faults, *pedigree_faults(found)]


class TestOwnBands:
    """The cock's own band is S-OO4 in the list of birds and S-004 wherever else he is named."""

    BIRDS = (
        cock("S-OO4", hatched="2022-03-01"),
        *OLD,
        *(chick(f"Y{at}", "hen", "S-004", "SH", "Pure") for at in range(2)),
    )
    SCORES = "bird,date,weight\nS-004,2023-08-01,2000\n"

    def test_it_is_told_once_in_place_of_one_a_row(self, tmp_path: Path) -> None:
        (found,) = pedigree_findings(tmp_path, *self.BIRDS, scores=self.SCORES)
        assert (found.kind, found.file, found.row) == ("own-band-mistyped", "birds.csv", 2)
        assert found.problem == (
            "no row names S-OO4, and 3 name S-004, a band that no bird has (2 of birds, 1 of "
            "scores)"
        )
        assert cells(found) == [("birds", 2, "bird", "S-OO4", "S-004")]
        assert (found.birds, found.safe) == (("S-OO4", "Y0", "Y1"), False)

    def test_what_was_seen_of_it_is_not_told_again_with_the_genes(self, tmp_path: Path) -> None:
        seen = {"date": "2023-01-01", "bird": "S-004", "locus": "O", "what": "blue"}
        found = checked(tmp_path, self.BIRDS, seen=[seen]).faults
        assert [one.kind for one in found] == ["own-band-mistyped"]

    def test_a_bird_without_a_row_is_told_once_too(self, tmp_path: Path) -> None:
        wishes = "bird,with,wish\nS-004,SH,together\n"
        (found,) = pedigree_findings(tmp_path, *self.BIRDS[1:], scores=self.SCORES, wishes=wishes)
        assert (found.kind, found.file, found.row, found.value) == (
            "unknown-bird",
            "birds.csv",
            4,
            "S-004",
        )
        assert found.problem == (
            "no bird S-004 is in the table of birds, and 4 rows name it (2 of birds, 1 of scores, "
            "1 of wishes)"
        )
        assert found.mend == "add a row for S-004 to the birds"
        assert [one.value for one in verbs.check(tmp_path).faults] == ["S-004"]

    def test_rows_that_name_a_bird_in_small_letters_are_mended_together(
        self, tmp_path: Path
    ) -> None:
        chicks = tuple(chick(f"Y{at}", "hen", "sc", "SH", "Pure") for at in range(2))
        scores = self.SCORES.replace("S-004", "sc")
        (found,) = pedigree_findings(tmp_path, *OLD, *chicks, scores=scores)
        assert (found.kind, found.safe) == ("unknown-bird", True)
        assert [cell.becomes for cell in found.mends] == ["SC", "SC", "SC"]

    @pytest.mark.parametrize(
        ("birds", "scores"),
        [
            pytest.param(BIRDS[:-1], SCORES, id="two rows are too few"),
            pytest.param((*BIRDS, chick("Y3", "hen", "S-004", "SH", "Pure")), "", id="one table"),
            pytest.param((hen("S-oo4"), *BIRDS[1:]), SCORES, id="a hen is no sire"),
        ],
    )
    def test_else_each_row_is_told(
        self, tmp_path: Path, birds: tuple[Row, ...], scores: str
    ) -> None:
        tables = {"scores": scores} if scores else {}
        kinds = {one.kind for one in pedigree_findings(tmp_path, *birds, **tables)}
        assert kinds & {"unknown-bird", "unknown-parent"}
        assert "own-band-mistyped" not in kinds

    @pytest.mark.parametrize(
        ("birds", "scores"),
        [
            pytest.param(BIRDS, SCORES + "S-OO4,2023-08-01,2100\n", id="a row names it"),
            pytest.param(
                (
                    cock("22-S004", hatched="2022-03-01"),
                    *OLD,
                    *(chick(f"Y{at}", "hen", "S004", "SH", "Pure") for at in "12"),
                ),
                SCORES.replace("S-004", "S004"),
                id="a year in front",
            ),
        ],
    )
    def test_nor_is_the_own_band_taken_for_the_wrong_one(
        self, tmp_path: Path, birds: tuple[Row, ...], scores: str
    ) -> None:
        (found,) = pedigree_findings(tmp_path, *birds, scores=scores)
        assert found.kind == "unknown-bird"
        assert [cell.becomes for cell in found.mends] == [birds[0]["bird"]] * 3


class TestSexes:
    CHICKS = tuple(chick(f"Y{at}", "hen", "SC", "B", "Pure") for at in range(3))

    def test_a_sex_that_all_rows_contradict_is_told_once(self, tmp_path: Path) -> None:
        (found,) = pedigree_findings(tmp_path, *OLD, cock("B"), *self.CHICKS)
        assert (found.kind, found.row, found.column) == ("sex-contradicted", 4, "sex")
        assert found.problem == (
            "B is written as a cock, but 3 rows make it a hen (dam in birds rows 5, 6, 7) and none "
            "a cock"
        )
        assert (cells(found), found.safe) == ([("birds", 4, "sex", "cock", "hen")], False)

    def test_two_rows_do_not_outvote_but_weigh(self, tmp_path: Path) -> None:
        found = pedigree_findings(tmp_path, *OLD, cock("B"), *self.CHICKS[:2])
        assert [one.kind for one in found] == ["parent-sex", "parent-sex"]
        assert found[0].mend.endswith("Likelier its sex is wrong: dam in birds rows 5, 6 say hen")

    def test_a_sex_borne_out_makes_the_other_cell_likelier_wrong(self, tmp_path: Path) -> None:
        rows = (*OLD, *(chick(f"Y{at}", "hen", "SC", "SH", "Pure") for at in range(2)))
        eggs = "pen,hen,cock,eggs\nYard,SC,,3\n"
        (found,) = pedigree_findings(tmp_path, *rows, eggs=eggs)
        assert found.kind == "wrong-sex"
        assert found.mend == (
            "write a hen here or mend the sex of SC. Likelier this cell is wrong: its sex and sire "
            "in birds rows 4, 5 say cock"
        )

    def test_a_blank_sex_that_eggs_and_chicks_tell_is_written_down(self, tmp_path: Path) -> None:
        rows = (*OLD, bird("B", "", "Pure"), self.CHICKS[0])
        found = tables_of(tmp_path, *rows, eggs="pen,hen,eggs\nYard,B,3\n").doubts
        (one,) = found
        assert (one.kind, cells(one), one.safe) == (
            "sex-not-written",
            [("birds", 4, "sex", "", "hen")],
            True,
        )
        assert one.problem == (
            "the sex of B is not written, but it is a hen: dam in birds row 5; hen in eggs row 2"
        )

    @pytest.mark.parametrize("eggs", ["pen,hen,eggs\nYard,SH,3\n", "pen,cock,eggs\nYard,B,3\n"])
    def test_chicks_alone_leave_it_among_what_is_taken(self, tmp_path: Path, eggs: str) -> None:
        rows = (*OLD, bird("B", "", "Pure"), self.CHICKS[0])
        assert tables_of(tmp_path, *rows, eggs=eggs).doubts == ()


class TestStays:
    def mended(self, path: Path, *stays: str, settings: str = TOP) -> list[tuple[object, ...]]:
        moves = "\n".join(["bird,pen,moved_in,moved_out", *stays]) + "\n"
        found = read(path, settings=settings, birds=table(OLD), moves=moves).doubts
        return [(one.row, [cell.becomes for cell in one.mends], one.safe) for one in found]

    def test_a_stay_may_end_as_the_next_begins_but_that_is_asked(self, tmp_path: Path) -> None:
        stays = ("SH,Yard,2026-01-01,", "SH,Orchard,2026-02-01,", "SH,Yard,2026-03-01,")
        assert self.mended(tmp_path, *stays) == [
            (3, ["2026-02-01"], False),
            (4, ["2026-03-01"], False),
        ]

    def test_the_day_is_written_as_the_tables_write_days(self, tmp_path: Path) -> None:
        settings = TOP.replace("season", 'dates = "day-first"\nseason')
        stays = ("SH,Yard,2026-01-01,", "SH,Orchard,2026-02-13,")
        assert self.mended(tmp_path, *stays, settings=settings) == [(3, ["13/02/2026"], False)]

    @pytest.mark.parametrize(
        "stays",
        [
            ("SH,Yard,2026-01-01,2026-03-01", "SH,Orchard,2026-02-01,"),
            ("SH,Yard,,", "SH,Orchard,2026-02-01,"),
            ("SH,Yard,2026-02-01,", "SH,Orchard,2026-02-01,"),
            ("SH,Yard,2026-01-01,", "SH,Yard,2026-02-01,2026-03-01"),
        ],
    )
    def test_what_is_not_clear_is_asked(self, tmp_path: Path, stays: tuple[str, ...]) -> None:
        assert self.mended(tmp_path, *stays) == [(3, [], False)]

    def test_a_cock_followed_by_another_is_proposed_but_not_safe(self, tmp_path: Path) -> None:
        rows = (*OLD, cock("SD"))
        moves = "bird,pen,moved_in,moved_out\nSC,Yard,2026-01-01,\nSD,Yard,2026-02-01,\n"
        found = only(tables_of(tmp_path, *rows, moves=moves).doubts, "two-cocks-at-once")
        assert cells(found) == [("moves", 2, "moved_out", "", "2026-02-01")]
        assert (found.safe, found.birds) == (False, ("SC", "SD"))
