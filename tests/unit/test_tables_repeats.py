from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest

from tests.unit.tables_helpers import birds, places, read

if TYPE_CHECKING:
    from pathlib import Path


class TestBands:
    def test_a_repeated_band_names_all_its_rows(self, tmp_path: Path) -> None:
        tables = read(tmp_path, birds=birds("H1,hen,,", "C1,cock,,", "H1,hen,C1,", "H1,,,"))
        assert places(tables.faults) == [
            ("duplicate-bird", "birds.csv", 4, "bird", "H1"),
            ("duplicate-bird", "birds.csv", 5, "bird", "H1"),
        ]
        assert "rows 2, 4, 5" in tables.faults[0].problem
        assert [(bird.bird, bird.row) for bird in tables.birds] == [("H1", 2), ("C1", 3)]

    def test_bands_that_differ_in_zeros_are_two_and_doubted(self, tmp_path: Path) -> None:
        tables = read(tmp_path, birds=birds("17,hen,,", "0017,hen,,"))
        assert [bird.bird for bird in tables.birds] == ["17", "0017"]
        assert places(tables.doubts) == [("zeros-differ", "birds.csv", 3, "bird", "0017")]

    @pytest.mark.parametrize("band", ["1E+05", "2-Sep", "Sep-02", "45368", "2026-09-02"])
    def test_a_band_that_looks_damaged_is_doubted(self, tmp_path: Path, band: str) -> None:
        tables = read(tmp_path, birds=birds("A1,hen,,", "A2,hen,,", "A3,hen,,", f"{band},hen,,"))
        assert places(tables.doubts) == [("damaged-band", "birds.csv", 5, "bird", band)]

    def test_five_digits_are_nothing_strange_where_all_have_them(self, tmp_path: Path) -> None:
        tables = read(tmp_path, birds=birds("45368,hen,,", "45369,hen,,", "A3,hen,,"))
        assert tables.doubts == ()

    def test_names_that_differ_in_writing_only_are_doubted(self, tmp_path: Path) -> None:
        header = "bird,sex,sire,dam,line,source"
        rows = ("A1,hen,,,Line A,Hill", "A2,hen,,,line-a,Hill", "A3,hen,,,line-a,hill")
        assert places(read(tmp_path, birds=birds(*rows, header=header)).doubts) == [
            ("similar-names", "birds.csv", 2, "line", "Line A"),
            ("similar-names", "birds.csv", 4, "source", "hill"),
        ]


class TestPens:
    def test_a_repeated_pen_is_a_fault(self, tmp_path: Path) -> None:
        tables = read(tmp_path, pens="pen,hens_max\nA,8\nA,6\n")
        assert places(tables.faults) == [("duplicate-pen", "pens.csv", 3, "pen", "A")]
        assert [pen.hens_max for pen in tables.pens] == [8]

    def test_a_pen_may_have_periods_that_do_not_meet(self, tmp_path: Path) -> None:
        rows = "A,8,2027-02-01,2027-03-01\nA,6,2027-03-02,2027-04-01\n"
        tables = read(tmp_path, pens="pen,hens_max,from,until\n" + rows)
        assert (tables.faults, len(tables.pens)) == ((), 2)
        assert tables.pens[1].first_day == dt.date(2027, 3, 2)

    def test_periods_that_meet_are_a_fault(self, tmp_path: Path) -> None:
        rows = "A,8,2027-02-01,2027-03-01\nA,6,2027-03-01,2027-04-01\n"
        tables = read(tmp_path, pens="pen,hens_max,from,until\n" + rows)
        assert [fault.kind for fault in tables.faults] == ["duplicate-pen"]
