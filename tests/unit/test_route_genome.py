"""Gametes, chicks and classes at the loci of a target, in exact fractions."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Look
from matchmaker.route.genome import genome_of
from matchmaker.route.task import Telling, backcrosses_of, share_after
from matchmaker.route.telling import best_test, cells_of
from matchmaker.tables.records import Sex
from tests.route_helpers import linked, task_of

if TYPE_CHECKING:
    from matchmaker.route.genome import Mix
    from matchmaker.route.task import Task

HALF = Fraction(1, 2)


def by_copies(task: Task, mix: Mix) -> dict[tuple[int, ...], Fraction]:
    """Chances of copies at every locus."""
    found: dict[tuple[int, ...], Fraction] = {}
    for state, chance in mix:
        copies = task.genome.copies(state)
        found[copies] = found.get(copies, Fraction(0)) + chance
    return found


def first_cross(task: Task, sex: Sex) -> Mix:
    """Chicks of a donor cock and a recurrent hen."""
    number = len(task.wanted)
    cock = task.genome.pure(Sex.COCK, [1] * number)
    return task.genome.chicks(cock, task.genome.pure(Sex.HEN, [0] * number), sex)


def recurrent(task: Task, sex: Sex) -> Mix:
    """Birds free of everything."""
    return task.genome.pure(sex, [0] * len(task.wanted))


def test_two_unlinked_loci_are_both_homozygous_in_one_chick_of_sixteen() -> None:
    task = task_of({"R": 2, "O": 2})
    cock, hen = first_cross(task, Sex.COCK), first_cross(task, Sex.HEN)
    assert by_copies(task, task.genome.chicks(cock, hen, Sex.HEN))[2, 2] == Fraction(1, 16)


def test_linked_loci_part_as_often_as_the_settings_say() -> None:
    task = task_of({"O": 2, "P": 0}, loci=linked("O", "P", 0.04))
    carrier = first_cross(task, Sex.HEN)
    chicks = by_copies(task, task.genome.chicks(recurrent(task, Sex.COCK), carrier, Sex.HEN))
    assert chicks[1, 0] == chicks[0, 1] == Fraction(1, 50)
    assert chicks[1, 1] == chicks[0, 0] == Fraction(24, 50)


def test_a_third_linked_locus_is_said_to_be_left_out() -> None:
    loci = {symbol: catalogue()[symbol] for symbol in ("Db", "Ml", "Pg")}
    genome = genome_of(loci)
    assert len(genome.stretches) == 2
    assert genome.left
    assert sorted(at for stretch in genome.stretches for at in stretch.loci) == [0, 1, 2]


def test_founders_of_a_breed_that_is_not_pure() -> None:
    task = task_of({"choc": 2})
    found = task.genome.founders(Sex.COCK, [Fraction(1, 4)])
    assert by_copies(task, found) == {
        (0,): Fraction(9, 16),
        (1,): Fraction(6, 16),
        (2,): Fraction(1, 16),
    }
    assert by_copies(task, task.genome.founders(Sex.HEN, [Fraction(1, 4)])) == {
        (0,): Fraction(3, 4),
        (1,): Fraction(1, 4),
    }


def test_blue_eggs_tell_hens_at_lay_and_cocks_by_dna_or_daughters_only() -> None:
    task = task_of({"O": 2})
    chicks = task.genome.chicks(first_cross(task, Sex.COCK), recurrent(task, Sex.HEN), Sex.HEN)
    hens = cells_of(task, chicks, Sex.HEN)
    shown = next(cell for cell in hens if cell.labels == (Look.SHOWN,))
    assert (shown.telling, shown.chance, shown.days) == (Telling.SIGHT, HALF, 180)
    cocks = {cell.telling for cell in cells_of(task, chicks, Sex.COCK)}
    assert cocks == {Telling.ANY, Telling.DNA, Telling.PROOF, Telling.PROOF_MEANWHILE}


def test_what_shows_too_late_costs_a_season() -> None:
    task = replace(task_of({"O": 2}), age=100)
    chicks = task.genome.chicks(first_cross(task, Sex.COCK), recurrent(task, Sex.HEN), Sex.HEN)
    late = [c for c in cells_of(task, chicks, Sex.HEN) if c.telling is Telling.LATE_SIGHT]
    assert {cell.delay for cell in late} == {1}
    proofs = [c for c in cells_of(task, chicks, Sex.COCK) if c.telling is Telling.PROOF]
    assert {cell.delay for cell in proofs} == {2}


def test_penetrance_and_error_blur_what_a_look_says() -> None:
    loci = {"Po": replace(catalogue()["Po"], penetrance=0.8, error=0.0)}
    task = task_of({"Po": 2}, loci=loci)
    chicks = task.genome.chicks(first_cross(task, Sex.COCK), recurrent(task, Sex.HEN), Sex.HEN)
    told = {c.labels: c for c in cells_of(task, chicks, Sex.HEN) if c.telling is Telling.SIGHT}
    assert told[Look.SHOWN,].chance == Fraction(2, 5)
    assert task.carrying(told[Look.SHOWN,].mix) == 1
    assert task.carrying(told[Look.HIDDEN,].mix) == Fraction(1, 6)


def test_a_test_mating_needs_a_mate_that_is_at_hand() -> None:
    with_hens = task_of({"lav": 2})
    without = task_of({"lav": 2}, donors=[Sex.COCK])
    prior = (HALF, HALF, Fraction(0))
    found = best_test(with_hens, 0, Sex.COCK, prior, 1)
    assert found is not None
    assert (found.chicks(0.95), found.chicks(0.99)) == (5, 7)
    assert best_test(without, 0, Sex.COCK, prior, 1) is None


@pytest.mark.parametrize(("times", "share"), [(0, HALF), (3, Fraction(15, 16))])
def test_share_and_backcrosses(times: int, share: Fraction) -> None:
    assert share_after(times) == share
    assert backcrosses_of(share) == times
