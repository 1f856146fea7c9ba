"""The verbs that stand before the plan: check, read, study, pairs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.errors import ExitCode, InputError, UsageError
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.study import study_flock
from matchmaker.pairs.table import judge_pairs
from matchmaker.tables.read import read_folder
from tests.builders import HOME, HOME_SEEN, bird, checked, chick, dna, hen, write_flock

if TYPE_CHECKING:
    from pathlib import Path


def test_a_sound_folder_has_no_faults_and_its_crossings(tmp_path: Path) -> None:
    found = checked(tmp_path, HOME, seen=HOME_SEEN)
    assert (found.faults, found.doubts) == ((), ())
    assert [row.name for row in found.crossings] == ["Pure pure", "Alder hens", "Alder cocks"]


def test_faults_of_every_layer_stand_side_by_side(tmp_path: Path) -> None:
    """A cell, a locus, a pedigree, a row of matings, a wish: one of each."""
    birds = [*HOME, hen("X", "Pure", lay_per_week="99"), chick("Y", "hen", "SC", "AX", "Pure")]
    settings = (
        '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "hold"\n'
        "every = 2\nkeep = {Zz = [1]}\n"
    )
    wishes = [{"bird": "SH", "with": "", "wish": "together"}]
    found = checked(tmp_path, birds, settings, seen=HOME_SEEN, wishes=wishes)
    assert {fault.kind for fault in found.faults} >= {
        "out-of-range",
        "unknown-parent",
        "turn-without-start",
        "unknown-locus",
        "wish-partner",
    }
    assert found.table is None
    assert found.crossings == ()


def test_faults_are_in_order_of_their_places(tmp_path: Path) -> None:
    birds = [*HOME, chick("Y", "hen", "SH", "AX", "Pure"), chick("Z", "hen", "SC", "SC", "Pure")]
    found = checked(tmp_path, birds, seen=HOME_SEEN)
    assert [fault.order for fault in found.faults] == sorted(f.order for f in found.faults)


def test_records_that_contradict_each_other_are_named(tmp_path: Path) -> None:
    """Two pure parents cannot have a chick with a blue egg gene."""
    birds = [*HOME, chick("Y", "hen", "SC", "SH", "Pure")]
    found = checked(tmp_path, birds, seen=[*HOME_SEEN, dna("Y", "O", 1)])
    (fault,) = found.faults
    assert (fault.kind, fault.file, fault.row) == ("contradiction", "seen.csv", 4)
    assert "this record on Blue eggshell (O) cannot be true: seen.csv row 4 (Y)" in fault.problem


@pytest.mark.parametrize("verb", [verbs.read, verbs.flock, verbs.pairs])
def test_verbs_refuse_a_faulty_folder_with_all_its_faults(tmp_path: Path, verb: object) -> None:
    assert callable(verb)
    folder = write_flock(tmp_path, [*HOME, chick("Y", "hen", "SH", "AX", "Pure")])
    with pytest.raises(InputError) as caught:
        verb(folder)
    assert caught.value.faults == verbs.check(folder).faults
    assert caught.value.exit_code is ExitCode.FAULTS


def test_faults_of_the_tables_are_found_although_the_configuration_cannot_be_used(
    tmp_path: Path,
) -> None:
    birds = [*HOME, chick("Y", "hen", "SH", "AX", "Pure")]
    found = checked(tmp_path, birds, "[limits]\nkinship_max = 2\n", seen=HOME_SEEN)
    assert [fault.kind for fault in found.faults] == [
        "unknown-parent",
        "parent-sex",
        "bad-setting",
    ]


def test_frequencies_that_allow_no_living_bird_are_named(tmp_path: Path) -> None:
    """Were every founder of the breed pure for a lethal, none could live."""
    birds = [*HOME, hen("D", "Donor", "araucana")]
    found = checked(tmp_path, birds, "[loci.Cp.frequency]\naraucana = 1\n", seen=HOME_SEEN)
    (fault,) = found.faults
    assert (fault.kind, fault.file, fault.column) == (
        "impossible-pedigree",
        "matchmaker.toml",
        "loci.Cp",
    )
    assert "not all founders of the breed araucana are pure for Creeper" in fault.mend


def test_a_flock_with_unsound_evidence_is_not_studied(tmp_path: Path) -> None:
    folder = write_flock(tmp_path, HOME, seen=[{"bird": "AH", "locus": "O", "what": "pea"}])
    flock = build_flock(read_folder(folder, known_loci=frozenset(catalogue())))
    with pytest.raises(InputError) as caught:
        study_flock(flock)
    assert [fault.file for fault in caught.value.faults] == ["seen.csv"]


def test_pairs_are_not_judged_under_wishes_without_sense(tmp_path: Path) -> None:
    wishes = [{"bird": "SH", "with": "U", "wish": "apart"}]
    birds = [*HOME, bird("U", "", "Pure", "sussex")]
    folder = write_flock(tmp_path, birds, seen=HOME_SEEN, wishes=wishes)
    flock = build_flock(read_folder(folder, known_loci=frozenset(catalogue())))
    with pytest.raises(InputError):
        judge_pairs(study_flock(flock))


def test_there_must_be_a_folder(tmp_path: Path) -> None:
    with pytest.raises(UsageError):
        verbs.check(tmp_path / "nowhere")


def test_read_and_study_give_the_same_flock(tmp_path: Path) -> None:
    folder = write_flock(tmp_path, HOME, seen=HOME_SEEN)
    assert verbs.read(folder).birds == verbs.flock(folder).flock.birds


def test_kinship_covers_the_living_and_can_be_widened(tmp_path: Path) -> None:
    birds = [*HOME, hen("G", status="dead", left_on="2026-12-01")]
    birds.append(chick("Y", "hen", "SC", "G", "Pure"))
    study = verbs.flock(write_flock(tmp_path, birds, seen=HOME_SEEN))
    assert "G" not in study.kinship.birds
    assert study.kinship_with(["G", "Y"]).between("G", "Y") == 0.25
    assert study.kinship_with(["Y"]) is study.kinship
