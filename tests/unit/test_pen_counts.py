"""Counted chicks of several possible parents, from ``seen.csv`` to the screen of a bird."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from matchmaker.genetics.genotypes.relatives import Kin, Relatives
from tests.builders import Row, bird, checked, cock, dna, hen, of_kind, where
from tests.screens import plain, shown
from tests.unit.hatch_flocks import HALF

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker import verbs

BIRDS: tuple[Row, ...] = (
    cock("SC"),
    hen("S1"),
    hen("S2"),
    cock("AC", "Alder", HALF),
    cock("AB", "Alder", "", sire="AC", dam="S1", hatched="2026-04-01"),
)
SEEN = (dna("AC", "P", 1), dna("AC", "O", 1))
TOP = "[loci.P]\n"


def count(hens: str = "S1|S2", cocks: str = "AB", what: str = "5 pea, 4 single") -> Row:
    return {"hen": hens, "cock": cocks, "locus": "P", "what": what, "how": "day-old"}


def found(path: Path, *rows: Row, birds: tuple[Row, ...] = BIRDS, **more: Any) -> verbs.Check:
    return checked(path, birds, TOP, seen=[*SEEN, *rows], **more)


def test_one_pea_comb_proves_the_only_cock(tmp_path: Path) -> None:
    got = found(tmp_path, count())
    assert (got.faults, of_kind(got.doubts, "chicks-without-parents")) == ((), [])
    assert got.table is not None
    assert got.table.study.genotypes["P"].of("AB").tolist() == pytest.approx([0, 1, 0])
    assert "chicks of S1 or S2 × AB" in plain(shown(got.table, "AB"))


def test_of_two_cocks_it_may_be_either(tmp_path: Path) -> None:
    got = found(tmp_path, count(cocks="AB:0.5|SC:0.5", what="1 pea"))
    assert got.table is not None
    assert got.table.study.genotypes["P"].of("AB").tolist() == pytest.approx([0, 1, 0])
    none = found(tmp_path / "none", count(cocks="AB:0.5|SC:0.5", what="2 single"))
    assert none.table is not None
    # by hand: a single comb has chance 3/4 if AB carries and 1 if not, so (3/4)² : 1
    by_hand = 0.5625 / 1.5625
    assert none.table.study.genotypes["P"].carrier_probability("AB") == pytest.approx(by_hand)


def test_each_of_them_is_looked_up(tmp_path: Path) -> None:
    got = found(tmp_path, count(hens="S1|S9"), count(hens="S1|SC"))
    assert [where(one)[1:] for one in of_kind(got.faults, "unknown-bird")][:1] == [(4, "hen", "S9")]
    assert [where(one)[3] for one in of_kind(got.faults, "wrong-sex")][:1] == ["SC"]


def test_all_of_them_must_have_a_sex(tmp_path: Path) -> None:
    birds = (*BIRDS, bird("Q", "", "Pure", "sussex"))
    got = found(tmp_path, count(hens="S1|Q"), birds=birds)
    (fault,) = of_kind(got.faults, "no-sex")
    assert "Q is named as a possible hen" in fault.problem


def test_an_impossible_count_names_all_of_them(tmp_path: Path) -> None:
    got = found(tmp_path, count(cocks="SC"))
    (fault,) = of_kind(got.faults, "contradiction")
    assert "S1 or S2 × SC" in fault.problem


def test_a_count_without_a_hen_says_how_to_name_several(tmp_path: Path) -> None:
    (doubt,) = of_kind(found(tmp_path, count(hens="")).doubts, "chicks-without-parents")
    assert "H1|H2" in doubt.mend


def test_kin_of_such_a_count(tmp_path: Path) -> None:
    got = found(tmp_path, count())
    assert got.table is not None
    study = got.table.study
    (told,) = [one for one in study.genotypes["P"].evidence if "pea" in one.place.words]
    kin = {
        band: Relatives.of(study.flock.pedigree, band, [told]).kin_of(told)
        for band in ("AB", "S2", "AC")
    }
    assert kin == {"AB": Kin.CHICK, "S2": Kin.CHICK, "AC": Kin.DESCENDANT}
