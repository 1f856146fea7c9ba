"""Numbers that are to be reached with a certain chance."""

from __future__ import annotations

from itertools import product
from math import exp, factorial
from typing import TYPE_CHECKING

import pytest

from matchmaker.pairs.certainty import chance_of_reaching, poisson_mean
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.posing.terms import plan_certainty
from matchmaker.report.line_sentences import certainty_sentence
from matchmaker.tables.records import Sex
from tests.builders import HOME, HOME_SEEN, chick, cock, dna, hen, judged, only

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.posing.problem import LineGoal
    from tests.builders import Row

SURE = "[lines.Alder]\nwanted_hens_min = 2\ncertainty = 0.95\n"
GONE = {"status": "dead", "left_on": "2026-12-01"}
HALF = "sussex:0.5|araucana:0.5"
OPEN = (
    cock("F0", "Alder", HALF, **GONE),
    hen("S0", **GONE),
    cock("SC"),
    chick("A2", "hen", "F0", "S0", "Alder"),
)
"""A2 out of a carrier and a pure hen that are gone: it carries with one half."""

OPEN_SEEN = (dna("F0", "O", 1), dna("S0", "O", 0))


def sure(
    path: Path,
    birds: Sequence[Row],
    seen: Sequence[Row],
    pair: tuple[str, str],
    settings: str = SURE,
) -> Mapping[Sex, float]:
    found = only(judged(path, birds, settings, seen=seen), *pair).sure_by_sex
    assert found is not None
    return found


def goal(path: Path, settings: str) -> LineGoal:
    problem = pose_problem(judged(path, HOME, settings, seen=HOME_SEEN))
    return {one.line: one for one in problem.lines}["Alder"]


@pytest.mark.parametrize(("count", "chance"), [(1, 0.9), (2, 0.95), (5, 0.99), (40, 0.8)])
def test_the_mean_is_where_a_poisson_number_is_sure_enough(count: int, chance: float) -> None:
    mean = poisson_mean(count, chance)
    fewer = sum(exp(-mean) * mean**k / factorial(k) for k in range(count))
    assert fewer == pytest.approx(1 - chance)
    assert mean > count


def test_a_small_chance_still_asks_for_the_number_itself() -> None:
    assert poisson_mean(3, 0.1) == 3.0


def test_the_chance_of_runs_is_that_of_all_outcomes() -> None:
    chances = [0.2, 0.2, 0.2, 0.7, 0.35]
    for count in range(6):
        exact = 0.0
        for outcome in product((0, 1), repeat=5):
            weight = 1.0
            for one, p in zip(outcome, chances, strict=True):
                weight *= p if one else 1 - p
            exact += weight if sum(outcome) >= count else 0.0
        assert chance_of_reaching(count, [(3, 0.6), (1.5, 1.05)]) == pytest.approx(exact)


def test_without_certainty_the_numbers_are_expected_ones(tmp_path: Path) -> None:
    found = goal(tmp_path, "[lines.Alder]\nwanted_hens_min = 2.5\nwanted_cocks_min = 1\n")
    assert (found.wanted_cocks_min, found.wanted_hens_min) == (1.0, 2.5)
    assert (found.sure_cocks_min, found.sure_hens_min) == (0.0, 0.0)


def test_with_it_they_become_means(tmp_path: Path) -> None:
    found = goal(tmp_path, SURE + "wanted_min = 4\n")
    assert (found.wanted_cocks_min, found.wanted_hens_min) == (0.0, 0.0)
    assert found.sure_cocks_min == 0.0
    assert found.sure_hens_min == pytest.approx(4.744, abs=0.001)
    assert found.wanted_min == 4


def test_proven_parents_leave_nothing_open(tmp_path: Path) -> None:
    table = judged(tmp_path, HOME, SURE, seen=HOME_SEEN)
    pair = only(table, "AH", "SC")
    assert pair.sure_by_sex == pair.wanted_by_sex == {Sex.COCK: 0.25, Sex.HEN: 0.25}
    assert only(table, "SH", "SC").sure_by_sex is None
    found = {(one.hen, one.cock): one for one in pose_problem(table).candidates}
    assert found["AH", "SC"].sure_hens == pytest.approx(found["AH", "SC"].wanted_hens)
    assert found["SH", "SC"].sure_hens == 0.0


def test_a_parent_in_doubt_is_taken_at_the_worst(tmp_path: Path) -> None:
    """A2 has the gene with one half; if not, no chick of hers is wanted."""
    assert sure(tmp_path, OPEN, OPEN_SEEN, ("A2", "SC")) == {Sex.COCK: 0.0, Sex.HEN: 0.0}


def test_a_sure_carrier_of_one_copy_or_two_counts_as_having_one(tmp_path: Path) -> None:
    half = hen("S0", "Alder", HALF, **GONE)
    birds = [half if row["bird"] == "S0" else row for row in OPEN]
    seen = [dna("F0", "O", 1), dna("S0", "O", 1), {"bird": "A2", "locus": "O", "what": "blue"}]
    found = only(judged(tmp_path, birds, SURE, seen=seen), "A2", "SC")
    assert found.wanted_by_sex is not None
    assert found.wanted_by_sex[Sex.HEN] == pytest.approx(1 / 3)
    assert found.sure_by_sex == {Sex.COCK: 0.25, Sex.HEN: 0.25}


def test_the_worst_is_sought_among_what_a_row_keeps(tmp_path: Path) -> None:
    """Kept are chicks with one copy: a hen with two gives more of them than one with one."""
    row = (
        '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "backcross"\n'
        "keep = {O = [0]}\n"
    )
    half = hen("S0", "Alder", HALF, **GONE)
    birds = [half if b["bird"] == "S0" else b for b in OPEN]
    seen = [dna("F0", "O", 1), dna("S0", "O", 1), {"bird": "A2", "locus": "O", "what": "blue"}]
    assert sure(tmp_path, birds, seen, ("A2", "SC"), SURE + row) == {Sex.COCK: 0.0, Sex.HEN: 0.0}


def test_one_sex_alone_may_be_kept(tmp_path: Path) -> None:
    row = (
        '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "backcross"\n'
        'keep = {O = [1]}\nkeep_sex = "hen"\n'
    )
    found = sure(tmp_path, HOME, HOME_SEEN, ("AH", "SC"), SURE + row)
    assert found == {Sex.COCK: 0.0, Sex.HEN: 0.25}


LINKED = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2, P = 0}\n'
LINK = '[loci.P]\nlinked_to = "O"\nrecombination = 0.1\n'
BOTH_KEPT = (
    '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "backcross"\n'
    "keep = {O = [1], P = [0]}\n"
)


@pytest.mark.parametrize(
    ("dam", "chance"),
    [
        pytest.param(HALF, 0.05, id="of a first cross the phase is known: coupling"),
        pytest.param("sussex:0.5|araucana:0.25|other:0.25", None, id="either phase"),
    ],
)
def test_linked_loci_are_taken_with_their_phase(
    tmp_path: Path, dam: str, chance: float | None
) -> None:
    """O without P is a recombinant of a hen in coupling, nine in ten of one in repulsion."""
    frequency = "frequency = {other = 0.0}\n"
    settings = SURE + LINK + frequency + "[loci.O.frequency]\nother = 1.0\n" + BOTH_KEPT
    birds = [cock("SC"), hen("AH", "Alder", dam)]
    seen = [dna("AH", "O", 1), dna("AH", "P", 1)]
    table = judged(tmp_path, birds, settings, LINKED, seen=seen)
    pair = only(table, "AH", "SC")
    assert pair.wanted_by_sex is not None
    assert pair.sure_by_sex is not None
    least, told = pair.sure_by_sex[Sex.HEN], pair.wanted_by_sex[Sex.HEN]
    assert least == pytest.approx(0.5 * 0.05)
    if chance is not None:
        assert told == pytest.approx(least)
    assert told >= least - 1e-12


def test_by_sight_only_looks_that_are_kept_count(tmp_path: Path) -> None:
    """Blue eggs show in hens: daughters are told, sons are not."""
    row = (
        '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "backcross"\n'
        'keep = {O = [1]}\nrecognise = "sight"\n[loci.O]\nshows_at_days = 150\n'
    )
    found = sure(tmp_path, HOME, HOME_SEEN, ("AH", "SC"), SURE + row)
    assert found == {Sex.COCK: 0.0, Sex.HEN: 0.25}


def planned(table: PairTable) -> str:
    chosen = [one for one in pose_problem(table).candidates if (one.hen, one.cock) == ("AH", "SC")]
    (found,) = plan_certainty(table, chosen)
    return certainty_sentence(found)


def test_the_chance_reached_is_said(tmp_path: Path) -> None:
    """40.57 eggs, each a wanted daughter raised in 0.612 / 4 of cases: 1 − 0.847⁴⁰ (…) = 0.990."""
    table = judged(tmp_path / "a", HOME, SURE, seen=HOME_SEEN)
    assert planned(table) == (
        "Alder: 2 wanted daughters or more with a chance of 99.0 % (asked for: 95.0 %)."
    )
