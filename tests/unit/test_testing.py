"""Which birds to test: gains, answers, moves, and what test chicks can do in time."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker import verbs
from matchmaker.genetics.genotypes.progeny import Obstacle
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.bird_tests.answers import chick_answers, dna_answers
from matchmaker.plan.bird_tests.keeping import cocks_of, keep_most
from matchmaker.plan.bird_tests.proving import chick_trial, shows_itself
from matchmaker.plan.bird_tests.testing import open_questions, rank_tests
from matchmaker.plan.bird_tests.weighing import Move
from matchmaker.plan.posing.pose import pose_problem
from matchmaker.plan.searching.solve import best_value, solve_plan
from tests.builders import HOME, HOME_SEEN, chick, dna, hen, judged, write_flock
from tests.testing_flocks import DOUBTFUL, FEW_PENS, GONE, HALF_BRED, SCARCE, SEEN, doubtful

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.bird_tests.proving import ChickTrial
    from matchmaker.plan.bird_tests.testing import RankedTest, Ranking

EARLY = 'season = 2027\ntoday = 2026-11-20\nrecurrent = "sussex"\ntarget = {P = 2}\n'
COMB = (dna("AC", "P", 1), dna("S0", "P", 0), dna("S1", "P", 0))


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    return doubtful(tmp_path_factory.mktemp("doubtful"))


@pytest.fixture(scope="module")
def ranking(table: PairTable) -> Ranking:
    return rank_tests(table, birds=99)


@pytest.fixture(scope="module")
def early(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    """A comb that chicks show at once, ten weeks before the pens are made up."""
    return doubtful(tmp_path_factory.mktemp("early"), seen=COMB, top=EARLY)


def of_bird(ranking: Ranking, band: str) -> RankedTest:
    """Return the only test of a bird."""
    (found,) = (test for test in ranking.tests if test.bird == band)
    return found


def trial_of(table: PairTable, band: str, symbol: str = "O") -> ChickTrial:
    """Return the trial of a bird that can breed."""
    trial = chick_trial(table, band, symbol)
    assert trial is not None
    return trial


def test_every_bird_whose_copies_are_open_is_asked_after(table: PairTable) -> None:
    assert open_questions(table) == (("A1", "O"), ("A2", "O"), ("A3", "O"))


def test_only_loci_that_pairs_hang_on_are_asked_after(tmp_path: Path) -> None:
    """The pea comb is in the books, but no row keeps chicks by it."""
    table = doubtful(tmp_path, SCARCE + "[loci.P]\n", seen=(*SEEN, dna("AC", "P", 1)))
    assert np.count_nonzero(table.study.genotypes["P"].of("A1")) > 1
    assert {symbol for _, symbol in open_questions(table)} == {"O"}


def test_a_lethal_that_no_row_keeps_is_asked_after(tmp_path: Path) -> None:
    seen = (*SEEN, dna("AC", "Cp", 1), dna("S0", "Cp", 0))
    table = doubtful(tmp_path, SCARCE + "[loci.Cp]\n", seen=seen)
    assert ("A1", "Cp") in open_questions(table)


def test_the_answers_are_what_the_bird_may_have(table: PairTable) -> None:
    answers = dna_answers(table.study, "A1", "O")
    assert [(one.copies, one.chance) for one in answers] == [(0, 0.5), (1, 0.5)]


def test_an_answer_is_certain_and_relatives_learn(tmp_path: Path) -> None:
    """A chick with the gene proves its doubtful sire."""
    birds = (*DOUBTFUL, chick("A6", "hen", "A1", "SH", "Alder", hatched="2026-09-01"))
    study = doubtful(tmp_path, birds=birds).study
    assert study.genotypes["O"].carrier_probability("A1") == pytest.approx(0.5)
    carrier = dna_answers(study, "A6", "O")[1]
    told = study.informed("O", [carrier.evidence])
    assert told.genotypes["O"].carrier_probability("A6") == pytest.approx(1)
    assert told.genotypes["O"].carrier_probability("A1") == pytest.approx(1)
    assert told.kinship is study.kinship


@pytest.mark.parametrize("chicks", [1, 5, 12])
def test_what_test_chicks_tell_averages_to_what_is_known(table: PairTable, chicks: int) -> None:
    test = trial_of(table, "A1").test
    answers = chick_answers(table.study, "A1", "O", test, chicks)
    assert sum(one.chance for one in answers) == pytest.approx(1)
    told = [table.study.informed("O", [one.evidence]) for one in answers]
    for band in ("A1", "A2", "SH"):
        mean = sum(
            one.chance * study.genotypes["O"].of(band)
            for one, study in zip(answers, told, strict=True)
        )
        assert mean == pytest.approx(table.study.genotypes["O"].of(band))


def test_clean_chicks_leave_what_the_trial_says(table: PairTable) -> None:
    trial = trial_of(table, "A1")
    clean, other = chick_answers(table.study, "A1", "O", trial.test, 5)
    told = table.study.informed("O", [clean.evidence]).genotypes["O"]
    assert told.of("A1")[0] == pytest.approx(trial.test.proof(5))
    proved = table.study.informed("O", [other.evidence]).genotypes["O"]
    assert proved.carrier_probability("A1") == pytest.approx(1)


def test_no_answer_ever_costs(ranking: Ranking) -> None:
    for test in ranking.tests:
        assert test.gain >= 0
        assert sum(one.answer.chance for one in test.by_dna) == pytest.approx(1)
        assert all(one.best >= one.unchanged for one in test.by_dna)


@pytest.mark.parametrize("seed", range(4))
def test_no_answer_ever_costs_in_flocks_drawn_at_random(tmp_path: Path, seed: int) -> None:
    random = np.random.default_rng(seed)
    settings = (
        f"[limits]\nproof_min = {random.choice([0.2, 0.5])}\n"
        f"[lines.Alder]\nchicks_wanted = {random.integers(2, 20)}\n"
        f"hens_min = {random.integers(0, 2)}\n"
        f"[lines.Pure]\nchicks_wanted = {random.integers(2, 12)}\n"
    )
    pens = [{"pen": name, "hens_max": str(random.integers(1, 4))} for name in ("Orchard", "Yard")]
    found = rank_tests(doubtful(tmp_path, settings, pens=pens), birds=99)
    assert len(found.tests) == 3
    assert all(one.gain >= 0 for test in found.tests for one in test.by_dna)


def test_the_rest_cannot_come_among_the_best(table: PairTable, ranking: Ranking) -> None:
    for birds in (1, 2):
        few = rank_tests(table, birds=birds)
        assert few.considered == ranking.considered == 3
        assert [test.bird for test in few.tests] == [t.bird for t in ranking.tests[:birds]]
        assert [test.gain for test in few.tests] == [t.gain for t in ranking.tests[:birds]]


def test_an_answer_names_the_hens_it_moves(ranking: Ranking) -> None:
    """Without the gene A1 is of no use, and A3 takes over his hens."""
    none, one = of_bird(ranking, "A1").by_dna
    assert none.moves == tuple(
        Move(hen=band, before="A1", after="A3") for band in ("SH", "SI", "SJ")
    )
    assert one.moves == ()


def test_a_bird_that_no_plan_can_use_changes_nothing(tmp_path: Path) -> None:
    """A1 rests by wish, so only what it tells of others could matter, and it tells nothing."""
    folder = write_flock(
        tmp_path,
        DOUBTFUL,
        SCARCE,
        seen=SEEN,
        pens=FEW_PENS,
        wishes=[{"bird": "A1", "wish": "rest", "why": "moult"}],
    )
    test = of_bird(verbs.tests(folder, birds=9), "A1")
    assert (test.gain, test.chick_gain, test.trial) == (0, 0, None)
    assert all(one.moves == () for one in test.by_dna)


def test_nothing_is_open_in_a_flock_of_proved_birds(tmp_path: Path) -> None:
    found = rank_tests(judged(tmp_path, HOME, seen=HOME_SEEN))
    assert (found.considered, found.tests) == (0, ())


def test_where_no_plan_is_possible_all_that_an_answer_allows_is_gain(tmp_path: Path) -> None:
    """Alder must have a hen, and no bird of it is proved enough."""
    settings = "[limits]\nproof_min = 0.6\n[lines.Alder]\nhens_min = 1\n"
    found = rank_tests(doubtful(tmp_path, settings), birds=9)
    assert found.conflict
    assert found.value == 0
    none, one = of_bird(found, "A1").by_dna
    assert (none.best, none.unchanged, one.unchanged) == (0, 0, 0)
    assert one.gain == one.best > 0


def test_the_plan_kept_is_as_good_as_the_best_but_for_the_pairs_it_keeps(table: PairTable) -> None:
    problem = pose_problem(table, fresh=True)
    first = solve_plan(problem).pens
    assert cocks_of(keep_most(problem, first)) == cocks_of(first)
    other = tuple(one for one in problem.candidates if one.cock != first[0].cock)
    smaller = replace(problem, candidates=other)
    kept = keep_most(smaller, first)
    best = best_value(smaller)
    assert best is not None
    assert evaluate(smaller, kept).broken == ()
    assert evaluate(smaller, kept).value >= best - 0.02 * len(cocks_of(first))


def test_eggs_and_days_of_a_trial_by_hand(early: PairTable) -> None:
    """Five chicks seen at a day old: 11 eggs at 0.85 × 0.8, from three hens at 4 a week.

    A week till the eggs are fertile, 7 days to lay them, 21 to hatch, one to look.
    """
    trial = trial_of(early, "A1", "P")
    assert trial.mates == ("SH", "SI", "SJ")
    assert (trial.chicks, trial.eggs) == (5, 11)
    assert trial.seen_on == dt.date(2026, 11, 20) + dt.timedelta(days=7 + 7 + 21 + 1)
    assert trial.in_time


def test_a_hen_lays_her_test_eggs_alone(early: PairTable) -> None:
    """Eleven eggs at 4 a week take 20 days."""
    trial = trial_of(early, "A2", "P")
    assert trial.mates == ("SC", "SD")
    assert trial.seen_on == dt.date(2026, 11, 20) + dt.timedelta(days=7 + 20 + 21 + 1)


def test_test_chicks_in_time_add_less_than_a_certain_answer(early: PairTable) -> None:
    for test in rank_tests(early, birds=9).tests:
        assert test.by_chicks
        assert 0 <= test.chick_gain <= test.gain + 1e-9


def test_a_gene_seen_in_grown_hens_comes_too_late(ranking: Ranking) -> None:
    test = of_bird(ranking, "A1")
    assert test.trial is not None
    assert test.trial.test.days == 180
    assert (test.trial.in_time, test.by_chicks, test.chick_gain) == (False, (), 0)


def test_no_close_kin_and_no_resting_bird_serves_as_a_mate(tmp_path: Path) -> None:
    birds = (*DOUBTFUL, chick("SK", "hen", "SC", "S0", "Pure"))
    folder = write_flock(
        tmp_path, birds, SCARCE, seen=SEEN, pens=FEW_PENS, wishes=[{"bird": "SJ", "wish": "rest"}]
    )
    table = verbs.pairs(folder)
    assert table.study.kinship.between("A1", "SK") == 0.125
    assert trial_of(table, "A1").mates == ("SH", "SI", "SK")
    strict = verbs.pairs(
        write_flock(tmp_path, birds, SCARCE + "[limits]\nkinship_max = 0.1\n", seen=SEEN)
    )
    assert "SK" not in trial_of(strict, "A1").mates


def test_a_trial_without_a_mate_here_is_never_in_time(tmp_path: Path) -> None:
    """A recessive is found by birds that show it; here none does."""
    top = EARLY.replace("{P = 2}", "{lav = 2}")
    table = doubtful(tmp_path, seen=[dna("AC", "lav", 1)], top=top)
    trial = trial_of(table, "A1", "lav")
    assert (trial.mates, trial.test.mate_copies, trial.in_time) == ((), 2, False)


def test_a_hen_that_lays_nothing_answers_never(tmp_path: Path) -> None:
    birds = [dict(one, lay_per_week="0") if one["bird"] == "A2" else one for one in DOUBTFUL]
    table = doubtful(tmp_path, birds=birds)
    assert (trial_of(table, "A2").seen_on, trial_of(table, "A2").in_time) == (None, False)


@pytest.mark.parametrize("fertility", ["0", "0.00001"])
def test_a_cock_of_no_fertility_answers_never(tmp_path: Path, fertility: str) -> None:
    birds = [dict(one, fertility=fertility) if one["bird"] == "A1" else one for one in DOUBTFUL]
    trial = trial_of(doubtful(tmp_path, birds=birds), "A1")
    assert trial.chicks is not None
    assert (trial.eggs, trial.seen_on, trial.in_time) == (None, None, False)


def test_a_bird_too_young_to_breed_has_no_trial(tmp_path: Path) -> None:
    birds = (*DOUBTFUL, chick("A6", "hen", "AC", "S0", "Alder", hatched="2026-09-01"))
    assert chick_trial(doubtful(tmp_path, birds=birds), "A6", "O") is None


def test_a_bird_of_unknown_sex_has_no_trial_but_a_test(tmp_path: Path) -> None:
    birds = (*DOUBTFUL, chick("A6", "", "AC", "S0", "Alder"))
    table = doubtful(tmp_path, birds=birds)
    assert chick_trial(table, "A6", "O") is None
    assert [one.copies for one in dna_answers(table.study, "A6", "O")] == [0, 1]


def test_a_certain_carrier_is_tried_for_two_copies(tmp_path: Path) -> None:
    birds = (
        *DOUBTFUL,
        hen("AD", "Alder", HALF_BRED, **GONE),
        chick("A6", "cock", "AC", "AD", "Alder"),
    )
    carrier = {"bird": "A6", "locus": "O", "what": "carrier", "how": "dna"}
    table = doubtful(tmp_path, birds=birds, seen=(*SEEN, dna("AD", "O", 1), carrier))
    trial = trial_of(table, "A6")
    assert (trial.test.proves, trial.chicks, trial.test.chicks(0.99)) == (2, 6, 8)


def test_no_trial_that_could_give_crippled_chicks(tmp_path: Path) -> None:
    """To find a hidden lethal recessive one would have to pair carriers."""
    seen = (*SEEN, dna("AC", "psp", 1), dna("SH", "psp", 0), dna("S0", "psp", 0))
    trial = trial_of(doubtful(tmp_path, SCARCE + "[loci.psp]\n", seen=seen), "A1", "psp")
    assert trial.chicks is None
    assert trial.test.obstacle is Obstacle.HARMFUL
    assert trial.in_time is False


def test_a_pure_bird_that_turns_out_to_carry_counts_nothing(tmp_path: Path) -> None:
    """Half of such a hen's chicks would be free of the gene, but a pure line has no use for her."""
    birds = (*DOUBTFUL[:-3], hen("U1", "Pure"))
    settings = SCARCE + "[loci.O.frequency]\nsussex = 0.2\n"
    seen = [dna(band, "O", 0) for band in ("SC", "SD", "SH", "SI", "SJ", "S0", "S1")]
    table = doubtful(tmp_path, settings, birds, (*SEEN, *seen))
    test = of_bird(rank_tests(table, birds=9), "U1")
    none, one, two = test.by_dna
    assert [round(answer.answer.chance, 2) for answer in test.by_dna] == [0.64, 0.32, 0.04]
    assert none.unchanged > one.unchanged == two.unchanged


def test_an_answer_of_test_chicks_in_a_series_speaks_of_all_its_genotypes(tmp_path: Path) -> None:
    settings = SCARCE + "[loci.E]\n"
    seen = (*SEEN, dna("AC", "E", 1), *(dna(f"S{n}", "E", 0) for n in "01"))
    study = doubtful(tmp_path, settings, seen=seen).study
    test = trial_of(doubtful(tmp_path, settings, seen=seen), "A1", "E").test
    clean, _ = chick_answers(study, "A1", "E", test, 5)
    told = study.informed("E", [clean.evidence]).genotypes["E"]
    assert told.of("A1")[0] == pytest.approx(test.proof(5))


def test_a_bird_that_shows_it_itself_is_looked_at_first(early: PairTable) -> None:
    assert shows_itself(early, "A1", "P")


def test_what_was_written_down_need_not_be_looked_at_again(tmp_path: Path) -> None:
    """A pea comb leaves open whether there are one or two copies; another look does not help."""
    seen = (*COMB, {"bird": "A1", "locus": "P", "what": "pea"})
    assert not shows_itself(doubtful(tmp_path, seen=seen, top=EARLY), "A1", "P")


def test_a_cock_shows_no_egg_and_a_pullet_none_yet(tmp_path: Path) -> None:
    late = chick("A6", "hen", "AC", "S0", "Alder", hatched="2026-09-01")
    table = doubtful(tmp_path, birds=(*DOUBTFUL, late))
    assert not shows_itself(table, "A1", "O")
    assert shows_itself(table, "A2", "O")
    assert not shows_itself(table, "A6", "O")


def test_looks_that_cannot_differ_need_no_look(tmp_path: Path) -> None:
    """Without or with one copy of a recessive a bird looks the same."""
    top = EARLY.replace("{P = 2}", "{lav = 2}")
    table = doubtful(tmp_path, seen=[dna("AC", "lav", 1), dna("S0", "lav", 0)], top=top)
    assert not shows_itself(table, "A1", "lav")
