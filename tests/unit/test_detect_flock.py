"""Parents that were never together, birds nobody has seen, birds whose parents were forgotten."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.flock.contacts import apart_doubts, candidate_doubts
from matchmaker.flock.forgotten import forgotten_doubts
from matchmaker.flock.unseen import unseen_doubts
from tests.builders import TOP, bird, chick, cock, hen, table
from tests.unit.tables_helpers import read

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.errors import Fault
    from tests.builders import Row

OLD = (cock("SC"), hen("SH"))
ONE = chick("Y1", "hen", "SC", "SH", "Pure")
"""Hatched on 2026-04-01: its parents must have met from 2026-01-24 to 2026-03-11."""

HEADER = "bird,pen,moved_in,moved_out"


class TestParentsApart:
    def apart(self, path: Path, *stays: str, rows: tuple[Row, ...] = (ONE,)) -> list[Fault]:
        moves = "\n".join([HEADER, *stays]) + "\n"
        written = table([*OLD, *rows])
        return list(apart_doubts(read(path, settings=TOP, birds=written, moves=moves)))

    def test_parents_in_two_pens_on_the_days_that_count(self, tmp_path: Path) -> None:
        stays = ("SC,Yard,2026-01-10,2026-05-01", "SH,Orchard,2026-01-10,2026-05-01")
        two = chick("Y2", "hen", "SC", "SH", "Pure")
        (found,) = self.apart(tmp_path, *stays, rows=(ONE, two))
        assert (found.kind, found.row, found.column) == ("parents-apart", 4, "sire")
        assert found.problem == (
            "by the moves SC and SH were never in one pen; a chick hatched on 2026-04-01 needs "
            "them together between 2026-01-24 and 2026-03-11 (chicks: Y1, Y2)"
        )
        assert found.birds == ("SC", "SH", "Y1", "Y2")

    def test_pens_without_a_day_prove_nothing(self, tmp_path: Path) -> None:
        """A bird listed with the pen that it is in now may have been anywhere a year ago."""
        assert self.apart(tmp_path, "SC,Yard,,", "SH,Orchard,,") == []
        assert self.apart(tmp_path, "SC,Yard,2026-01-10,", "SH,Orchard,,") == []

    def test_many_pairs_are_told_in_one(self, tmp_path: Path) -> None:
        rows = [row for at in range(8) for row in self.hen_and_chick(at)]
        stays = [f"D{at},Orchard,2026-01-10,2026-05-01" for at in range(8)]
        (found,) = self.apart(tmp_path, "SC,Yard,2026-01-10,2026-05-01", *stays, rows=(*rows,))
        assert found.problem.startswith("8 pairs of parents were not in one pen on the days")
        assert {"SC", "D7", "Y7"} <= set(found.birds)

    def hen_and_chick(self, at: int) -> tuple[Row, Row]:
        return hen(f"D{at}"), chick(f"Y{at}", "hen", "SC", f"D{at}", "Pure")

    def test_a_last_stay_too_long_before(self, tmp_path: Path) -> None:
        stays = ("SC,Yard,2025-12-01,2026-01-23", "SH,Yard,2025-12-01,2026-01-30")
        (found,) = self.apart(tmp_path, *stays)
        assert "were last together on 2026-01-23" in found.problem

    @pytest.mark.parametrize(
        "stays",
        [
            ("SC,Yard,2025-12-01,2026-01-24", "SH,Yard,2025-12-01,2026-01-30"),
            ("SC,Yard,2026-03-11,2026-05-01", "SH,Yard,2026-03-01,2026-05-01"),
            ("SC,Yard,,", "SH,Yard,,"),
            ("SC,Yard,2026-01-10,2026-05-01",),
            ("SC,Yard,2025-01-10,2025-05-01", "SH,Orchard,2025-01-10,2025-05-01"),
            ("SC,Yard,2025-01-10,2025-05-01", "SH,Yard,2025-01-10,2025-05-01"),
        ],
        ids=[
            "the last day of the sire",
            "the first day possible",
            "without days",
            "the dam in no book",
            "another season",
            "together last year",
        ],
    )
    def test_what_the_moves_do_not_speak_against(
        self, tmp_path: Path, stays: tuple[str, ...]
    ) -> None:
        assert self.apart(tmp_path, *stays) == []

    @pytest.mark.parametrize("cells", [{"hatched": "2026"}, {"sire": "SC|SD"}])
    def test_uncertain_days_and_parents_are_left_alone(
        self, tmp_path: Path, cells: dict[str, str]
    ) -> None:
        stays = ("SC,Yard,2026-01-10,2026-05-01", "SH,Orchard,2026-01-10,2026-05-01")
        assert self.apart(tmp_path, *stays, rows=(cock("SD"), {**ONE, **cells})) == []


class TestPossibleParents:
    ROWS = (cock("SC"), cock("SD"), hen("SH"))

    def doubted(self, path: Path, *stays: str, **cells: str) -> list[Fault]:
        row = {**ONE, "sire": "SC|SD", **cells}
        moves = "\n".join([HEADER, *stays]) + "\n"
        written = table([*self.ROWS, row])
        return list(candidate_doubts(read(path, settings=TOP, birds=written, moves=moves)))

    STAYS = (
        "SC,Yard,2026-01-10,2026-05-01",
        "SH,Yard,2026-01-10,2026-05-01",
        "SD,Orchard,2026-01-10,2026-05-01",
    )

    def test_one_who_was_elsewhere_is_ruled_out(self, tmp_path: Path) -> None:
        (found,) = self.doubted(tmp_path, *self.STAYS)
        assert (found.kind, found.row, found.column) == ("candidate-apart", 5, "sire")
        assert found.problem == (
            "SD may be the sire of Y1 as written, but by the moves was not with SH on the days "
            "that count for a chick hatched on 2026-04-01; SC was"
        )
        assert [(cell.was, cell.becomes) for cell in found.mends] == [("SC|SD", "SC")]
        assert not found.safe

    @pytest.mark.parametrize("rows", [slice(0, 2), slice(1, 3)])
    def test_where_the_moves_are_silent_both_stay_possible(
        self, tmp_path: Path, rows: slice
    ) -> None:
        assert self.doubted(tmp_path, *self.STAYS[rows]) == []

    def test_both_in_the_pen_in_turn_stay_possible(self, tmp_path: Path) -> None:
        turns = ("SD,Yard,2026-01-01,2026-02-01", "SC,Yard,2026-02-01,2026-05-01")
        assert self.doubted(tmp_path, *turns, self.STAYS[1]) == []


class TestLongUnseen:
    def unseen(
        self, path: Path, *rows: Row, today: str = "2026-12-01", **tables: str
    ) -> list[Fault]:
        settings = f"today = {today}\n" + TOP
        written = table([*rows])
        return unseen_doubts(read(path, settings=settings, birds=written, **tables))

    def test_a_bird_without_a_word_for_two_years(self, tmp_path: Path) -> None:
        (found,) = self.unseen(tmp_path, *OLD, hen("OLD", hatched="2022-03-01"))
        assert (found.kind, found.row, found.column) == ("long-unseen", 4, "status")
        assert found.problem == (
            "nothing is written of OLD since 2022-03-01, 4.8 years before 2026-12-01, and it "
            "counts as a breeder that is here"
        )

    @pytest.mark.parametrize(
        "tables",
        [
            {"scores": "bird,date,weight\nOLD,2025-01-01,2000\n"},
            {"seen": "date,bird,locus,what\n2025-01-01,OLD,P,pea\n"},
            {"seen": "date,hen,cock,locus,what,count\n2025-01-01,OLD,SC,P,pea,2\n"},
            {"moves": "bird,pen,moved_in\nOLD,Yard,2025-01-01\n"},
            {"eggs": "pen,hen,set_on,eggs\nYard,OLD,2025-01-01,6\n"},
            {"plan": "pen,cock,hen\nYard,SC,OLD\n"},
            {"wishes": "bird,wish\nOLD,rest\n"},
        ],
        ids=["scored", "seen", "counted", "moved", "laid", "planned", "wished"],
    )
    def test_any_word_of_it_is_enough(self, tmp_path: Path, tables: dict[str, str]) -> None:
        assert self.unseen(tmp_path, *OLD, hen("OLD", hatched="2022-03-01"), **tables) == []

    @pytest.mark.parametrize(
        "cells",
        [
            {"status": "dead"},
            {"hatched": "2024-12-02"},
            {"hatched": "2024"},
            {"hatched": ""},
        ],
    )
    def test_who_is_gone_young_or_undated_is_not_doubted(
        self, tmp_path: Path, cells: dict[str, str]
    ) -> None:
        row = {**hen("OLD", hatched="2022-03-01"), "status": "", **cells}
        assert self.unseen(tmp_path, *OLD, row) == []

    def test_a_chick_speaks_for_its_parents(self, tmp_path: Path) -> None:
        old = (cock("A", hatched="2022-03-01"), hen("B", hatched="2022-03-01"))
        young = chick("Y", "hen", "A", "B", "Pure", hatched="2025-04-01")
        assert self.unseen(tmp_path, *old, young) == []

    def test_many_are_told_in_one(self, tmp_path: Path) -> None:
        rows = [hen(f"OLD{at}", hatched="2022-03-01") for at in range(12)]
        (found,) = self.unseen(tmp_path, *rows)
        assert len(found.birds) == 12
        assert "OLD7 (row 9, 2022-03-01) and 4 more" in found.problem


class TestForgottenParents:
    MATES = tuple(chick(f"Y{at}", "hen", "SC", "SH", "Pure") for at in range(2))

    def forgotten(self, path: Path, *rows: Row) -> list[Fault]:
        written = table([*OLD, *rows])
        return list(forgotten_doubts(read(path, settings=TOP, birds=written)))

    def test_hatch_mates_have_parents(self, tmp_path: Path) -> None:
        lone = bird("F", "hen", "Pure", hatched="2026-04-01", sire="", dam="")
        (found,) = self.forgotten(tmp_path, *self.MATES, lone)
        assert (found.kind, found.row, found.column) == ("parents-forgotten", 6, "sire")
        assert found.problem == (
            "this bird has no parents written though its hatch mates have them: F (row 6). Until "
            "then any bird of the line that lived then may be its parent"
        )

    def test_a_breed_makes_a_founder_of_it_though_its_line_was_here(self, tmp_path: Path) -> None:
        lone = bird("F", "hen", "Pure", "sussex", hatched="2026-05-01", sire="", dam="")
        (found,) = self.forgotten(tmp_path, lone)
        assert found.kind == "founder-or-unknown"
        assert found.problem.endswith("F (row 4). Until then it is a founder for the plan")

    @pytest.mark.parametrize(
        "cells",
        [
            {"source": "Hill"},
            {"sire": "founder", "dam": "founder"},
            {"sire": "SC"},
            {"breed": ""},
            {"hatched": "2025-04-01"},
            {"hatched": ""},
        ],
    )
    def test_founders_and_what_is_told_elsewhere_are_no_doubt(
        self, tmp_path: Path, cells: dict[str, str]
    ) -> None:
        lone = bird("F", "hen", "Pure", "sussex", hatched="2026-05-01", sire="", dam="")
        assert self.forgotten(tmp_path, {**lone, **cells}) == []
