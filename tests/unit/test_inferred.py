"""All loci of a flock at once: linked ones together, clashes named, more evidence added."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.errors import InputError
from matchmaker.genetics.genotypes.inferred import LociClashError
from matchmaker.genetics.genotypes.observed import Place, Sighting
from tests.builders import chick, cock, dna, hen, judged, write_flock

if TYPE_CHECKING:
    from pathlib import Path

TOP = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2, P = 2}\n'
LINKED = '[loci.P]\nlinked_to = "O"\nrecombination = 0.04\n'
TESTED = Place(file="seen.csv", row=99, column="what", words="1 copy")
BIRDS = (
    cock("C1"),
    cock("C2"),
    cock("D", "Elm", "araucana", hatched="2024-03-01"),
    hen("SH", hatched="2024-03-01"),
    hen("H1"),
    chick("F", "cock", "D", "SH", "Alder", hatched="2025-03-01"),
    chick("G", "hen", "F", "H1", "Alder", hatched="2026-03-01"),
)


def carries(bird: str) -> Sighting:
    """Return a laboratory's one copy of a bird."""
    return Sighting(bird=bird, weights=((0.0, 1.0, 0.0), (0.0, 1.0, 0.0)), place=TESTED)


def test_a_test_at_one_locus_informs_the_linked_one(tmp_path: Path) -> None:
    inferred = judged(tmp_path, BIRDS, LINKED, TOP).study.inferred
    told = inferred.informed("P", [carries("G")])
    assert inferred.genotypes["O"].carrier_probability("G") == pytest.approx(0.5)
    assert told.genotypes["P"].carrier_probability("G") == 1.0
    assert told.genotypes["O"].carrier_probability("G") == pytest.approx(0.96)


def test_a_test_at_an_unlinked_locus_informs_only_that(tmp_path: Path) -> None:
    unlinked = LINKED.replace("0.04", "0.5")
    inferred = judged(tmp_path, BIRDS, unlinked, TOP).study.inferred
    told = inferred.informed("P", [carries("G")])
    assert told.genotypes["O"].of("G").tolist() == inferred.genotypes["O"].of("G").tolist()


def test_evidence_that_cannot_be_true_is_refused(tmp_path: Path) -> None:
    inferred = judged(tmp_path, BIRDS, LINKED, TOP).study.inferred
    with pytest.raises(LociClashError) as clash:
        inferred.informed("P", [carries("H1")])
    assert clash.value.loci == ("P",)


def test_linked_loci_that_ask_for_different_sires_clash_together(tmp_path: Path) -> None:
    """Of two possible sires one has only the blue egg's allele to give, the other the pea comb's.

    Their chick has both alleles, so neither of them can be the sire of it.
    """
    settings = LINKED + "[loci.P.frequency]\naraucana = 0.5\n[loci.O.frequency]\naraucana = 0.5\n"
    birds = [
        cock("X", "Elm", "araucana"),
        cock("Y", "Elm", "araucana"),
        hen("H1"),
        chick("K", "hen", "X|Y", "H1", "Alder"),
    ]
    seen = [
        *(dna("X", "O", 2), dna("X", "P", 0), dna("Y", "O", 0), dna("Y", "P", 2)),
        *(dna("K", "O", 1), dna("K", "P", 1)),
    ]
    with pytest.raises(InputError) as refused:
        verbs.pairs(write_flock(tmp_path, birds, settings, TOP, seen=seen))
    (fault,) = refused.value.faults
    assert fault.kind == "contradiction"
    assert "of O and of P" in fault.problem


UNSURE = (
    cock("C1", "Elm", "araucana"),
    cock("C2"),
    hen("H1"),
    chick("X", "hen", "C1|C2", "H1", "Alder"),
)


def test_an_unsure_sire_is_one_bird_at_both_loci(tmp_path: Path) -> None:
    """What shows at one locus that the donor cock is the sire says so at the other one too."""
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2, lav = 2}\n'
    study = judged(tmp_path, UNSURE, top=top, seen=[dna("X", "O", 1)]).study
    assert study.genotypes["lav"].of("X").tolist() == [0.0, 1.0, 0.0]
    assert not study.inferred.approximate(["O", "lav"])


def test_loci_that_share_an_unsure_sire_beyond_a_pair_are_approximate(tmp_path: Path) -> None:
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2, lav = 2, mo = 2}\n'
    inferred = judged(tmp_path, UNSURE, top=top).study.inferred
    assert inferred.approximate(["O", "mo"])
    assert not inferred.approximate(["mo"])


def test_loci_are_worked_out_one_by_one_where_parents_are_sure(tmp_path: Path) -> None:
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2, lav = 2}\n'
    inferred = judged(tmp_path, BIRDS, top=top).study.inferred
    assert not inferred.linked
    assert not inferred.approximate(["O", "lav"])


def test_a_link_between_the_z_and_another_chromosome_is_a_fault(tmp_path: Path) -> None:
    settings = '[loci.P]\nlinked_to = "S"\nrecombination = 0.1\n[loci.S]\n'
    (fault,) = verbs.check(write_flock(tmp_path, BIRDS, settings)).faults
    assert (fault.kind, fault.file) == ("impossible-link", "matchmaker.toml")
