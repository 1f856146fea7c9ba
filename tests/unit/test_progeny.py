"""Test chicks: how many settle a bird, by which mate, and where none can."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import comb
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from matchmaker.genetics.genotypes.progeny import (
    LEVELS,
    MOST_CHICKS,
    Obstacle,
    ProgenyTest,
    Question,
    chicks_to_hatch,
    progeny_tests,
)
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus, Look
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator

LOCI = catalogue()
HALF = (0.5, 0.5, 0.0)
BLUE_COCK = (LOCI["O"], Sex.COCK)


def best(
    symbol: str, sex: Sex, prior: tuple[float, ...], question: Question = Question.FREE
) -> ProgenyTest:
    """Return the way with the fewest chicks."""
    return progeny_tests(prior, LOCI[symbol], sex, question)[0]


def by_mate(tests: tuple[ProgenyTest, ...], copies: int, judged: Sex | None) -> ProgenyTest:
    """Return the one test by this kind of mate and these chicks."""
    (found,) = (one for one in tests if (one.mate_copies, one.judged) == (copies, judged))
    return found


def chicks_by_hand(locus: Locus, cock: int, hen: int, judged: Sex) -> dict[int, float]:
    """Copies of the living chicks of one sex, gamete by gamete."""
    sire = ([0, 0], [0, 1], [1, 1])[cock]
    if not locus.z_linked:
        dam = ([0, 0], [0, 1], [1, 1])[hen]
    else:
        dam = [hen] if judged is Sex.COCK else [0]
    kinds = [one + two for one, two in product(sire, dam)]
    alive = [copies for copies in kinds if locus.lives(copies, judged)]
    return {copies: alive.count(copies) / len(alive) for copies in set(alive)}


def looks_by_hand(locus: Locus, copies: int, judged: Sex) -> dict[Look, float]:
    """What is written down of a chick: it may fail to show, and any look may be miswritten."""
    kinds = [Look.HIDDEN, Look.SHOWN]
    hemizygous = locus.z_linked and judged is Sex.HEN
    kinds += [Look.ONE_COPY] * (locus.dominance == "incomplete" and not hemizygous)
    true = locus.phenotype(copies, judged)
    written = dict.fromkeys(kinds, 0.0)
    for look, chance in ((true, locus.penetrance), (Look.HIDDEN, 1 - locus.penetrance)):
        for kind in kinds:
            right = 1 - locus.error if kind is look else locus.error / (len(kinds) - 1)
            written[kind] += chance * right
    return written


def proof_by_hand(test: ProgenyTest, locus: Locus, chicks: int) -> float:
    """P(the bird is so | all as expected): every family of chicks and looks, one by one."""
    assert test.judged is not None
    joint = []
    for copies, prior in enumerate(test.prior):
        parents = (copies, test.mate_copies)
        cock, hen = parents if test.mate is Sex.HEN else parents[::-1]
        one = [
            (chance * seen, look in test.expected)
            for chick, chance in chicks_by_hand(locus, cock, hen, test.judged).items()
            for look, seen in looks_by_hand(locus, chick, test.judged).items()
        ]
        total = 0.0
        for family in product(one, repeat=chicks):
            weight = prior
            for chance, expected in family:
                weight *= chance * expected
            total += weight
        joint.append(total)
    return joint[test.proves] / sum(joint) if sum(joint) else 0.0


LOCUS = st.builds(
    Locus,
    symbol=st.just("X"),
    name=st.just("made up"),
    z_linked=st.booleans(),
    dominance=st.sampled_from(["dominant", "recessive", "incomplete"]),
    penetrance=st.sampled_from([1.0, 0.9, 0.6]),
    error=st.sampled_from([0.0, 0.02]),
)
PRIOR = st.lists(st.integers(0, 4), min_size=3, max_size=3).filter(any)


def priors(locus: Locus, sex: Sex, parts: list[int]) -> tuple[float, ...]:
    """Scale whole numbers to a prior over the copies this sex can have."""
    kept = parts[: len(locus.copy_numbers(sex))]
    total = sum(kept)
    return tuple(part / total for part in kept) if total else (1.0, *(0.0 for _ in kept[1:]))


def split(tests: tuple[ProgenyTest, ...]) -> Iterator[ProgenyTest]:
    """Tests that count sons and daughters alike, once for each."""
    for test in tests:
        if test.judged is None:
            yield from (replace(test, judged=sex) for sex in Sex)
        else:
            yield test


@given(LOCUS, st.sampled_from(Sex), PRIOR, st.sampled_from(Question))
def test_the_proof_is_that_of_every_family_one_by_one(
    locus: Locus, sex: Sex, parts: list[int], question: Question
) -> None:
    prior = priors(locus, sex, parts)
    for test in split(progeny_tests(prior, locus, sex, question)):
        for chicks in range(3):
            if test.prior[test.proves] > 0:
                by_hand = proof_by_hand(test, locus, chicks)
                assert test.proof(chicks) == pytest.approx(by_hand, abs=1e-12)


@given(LOCUS, st.sampled_from(Sex), PRIOR, st.sampled_from(Question))
def test_one_chick_fewer_is_too_few(
    locus: Locus, sex: Sex, parts: list[int], question: Question
) -> None:
    for test in progeny_tests(priors(locus, sex, parts), locus, sex, question):
        for level in LEVELS:
            chicks = test.chicks(level)
            if chicks is None:
                assert all(test.proof(n) < level for n in (0, 1, 10, MOST_CHICKS))
            else:
                assert test.proof(chicks) >= level
                assert all(test.proof(fewer) < level for fewer in range(chicks))
        assert (test.chicks(LEVELS[0]) is None) == (test.obstacle is not None)


@given(LOCUS, st.sampled_from(Sex), PRIOR, st.integers(0, 12))
def test_all_as_expected_or_one_that_is_not(
    locus: Locus, sex: Sex, parts: list[int], chicks: int
) -> None:
    for test in progeny_tests(priors(locus, sex, parts), locus, sex, Question.FREE):
        assert test.all_expected(chicks) + test.contrary(chicks) == pytest.approx(1.0)
        assert test.contrary(chicks + 1) >= test.contrary(chicks) - 1e-12


def test_the_fewest_chicks_stand_first() -> None:
    """A cock that may hide a recessive: by a hen with two copies, then by one with one."""
    tests = progeny_tests(HALF, LOCI["lav"], Sex.COCK, Question.FREE)
    assert [(one.mate_copies, one.chicks(0.95)) for one in tests] == [(2, 5), (1, 11), (0, None)]


def test_a_gene_that_only_hens_show_is_judged_by_daughters() -> None:
    test = best("O", Sex.COCK, HALF)
    assert (test.judged, test.mate, test.mate_copies, test.days) == (Sex.HEN, Sex.HEN, 0, 180)
    assert (test.chicks(0.95), test.chicks(0.99)) == (5, 7)


def test_a_gene_that_only_cocks_show_is_judged_by_sons() -> None:
    tests = progeny_tests(HALF, LOCI["Hf"], Sex.HEN, Question.FREE)
    assert {one.judged for one in tests} == {Sex.COCK}


def test_off_the_z_sons_and_daughters_count_alike() -> None:
    assert {one.judged for one in progeny_tests(HALF, LOCI["P"], Sex.HEN, Question.FREE)} == {None}


def test_a_mate_that_shows_the_gene_hides_it() -> None:
    tests = progeny_tests(HALF, *BLUE_COCK, Question.FREE)
    for copies in (1, 2):
        test = by_mate(tests, copies, Sex.HEN)
        assert (test.obstacle, test.chicks(0.95)) == (Obstacle.HIDDEN, None)


def test_a_hen_is_not_judged_by_her_daughters_on_the_z() -> None:
    tests = progeny_tests((0.5, 0.5), LOCI["choc"], Sex.HEN, Question.FREE)
    assert by_mate(tests, 1, Sex.HEN).obstacle is Obstacle.NOT_PASSED_ON
    assert by_mate(tests, 1, Sex.COCK).chicks(0.95) == 5


def test_a_single_son_settles_a_hen_on_the_z() -> None:
    """Her son by a cock with two copies shows what her only Z carries."""
    test = best("choc", Sex.HEN, (0.5, 0.5))
    assert (test.mate_copies, test.judged, test.chicks(0.99)) == (2, Sex.COCK, 1)


def test_no_mate_that_could_give_dead_chicks() -> None:
    tests = progeny_tests(HALF, LOCI["Cp"], Sex.HEN, Question.FREE)
    assert {one.mate_copies: one.obstacle for one in tests} == {0: None, 1: Obstacle.HARMFUL}
    assert tests[-1].chicks(0.95) is None


def test_what_a_bird_cannot_be_is_never_proved() -> None:
    test = best("P", Sex.COCK, HALF, Question.BREEDS_TRUE)
    assert (test.obstacle, test.proof(50)) == (Obstacle.NEVER, 0.0)


def test_what_is_known_needs_no_chick() -> None:
    assert best("P", Sex.COCK, (1.0, 0.0, 0.0)).chicks(0.99) == 0


def test_a_gene_that_hardly_ever_shows_takes_too_many() -> None:
    locus = replace(LOCI["P"], penetrance=0.01)
    assert progeny_tests(HALF, locus, Sex.COCK, Question.FREE)[0].obstacle is Obstacle.TOO_MANY


def test_incomplete_penetrance_takes_more_chicks_and_leaves_a_doubt() -> None:
    """Extra toe shows in nine of ten: (1 − 0.45)^n, and a two-copy bird's chick may hide it."""
    free = best("Po", Sex.COCK, HALF)
    assert free.likelihood[1] == pytest.approx(0.55)
    assert (free.chicks(0.95), free.chicks(0.99)) == (5, 8)
    assert free.decisive
    pure = best("Po", Sex.COCK, (0.0, 0.5, 0.5), Question.BREEDS_TRUE)
    assert not pure.decisive


def test_a_scoring_error_takes_away_the_single_proof() -> None:
    locus = replace(LOCI["P"], error=0.05)
    assert not progeny_tests(HALF, locus, Sex.COCK, Question.FREE)[0].decisive


def test_luck_leaves_the_prior_aside() -> None:
    for carrier in (0.1, 0.5, 0.9):
        assert best("P", Sex.COCK, (1 - carrier, carrier, 0)).luck(5) == pytest.approx(1 / 32)


def test_luck_of_a_bird_that_can_be_nothing_else() -> None:
    assert best("P", Sex.COCK, (1.0, 0.0, 0.0)).luck(3) == 0


def tail_by_hand(needed: int, total: int, chance: float) -> float:
    """P(at least so many): every row of chicks, one by one."""
    found = 0.0
    for row in product((True, False), repeat=total):
        weight = 1.0
        for one in row:
            weight *= chance if one else 1 - chance
        found += weight * (sum(row) >= needed)
    return found


@pytest.mark.parametrize("needed", [0, 1, 2, 3])
@pytest.mark.parametrize("chance", [0.5, 0.6, 0.75, 1.0])
def test_chicks_to_hatch_against_every_row_of_chicks(needed: int, chance: float) -> None:
    total = chicks_to_hatch(needed, chance, 0.9)
    assert total is not None
    assert tail_by_hand(needed, total, chance) >= 0.9
    assert total == needed or tail_by_hand(needed, total - 1, chance) < 0.9


@pytest.mark.parametrize(("chance", "level"), [(-0.1, 0.95), (0.5, 1.0), (1.5, 0.9)])
def test_what_is_no_chance_or_no_level_is_refused(chance: float, level: float) -> None:
    with pytest.raises(ValueError, match="no number of chicks"):
        chicks_to_hatch(1, chance, level)


@pytest.mark.parametrize(("needed", "chance"), [(1, 0.0), (200, 1e-5)])
def test_there_is_no_number_where_nobody_hatches_so_many(needed: int, chance: float) -> None:
    assert chicks_to_hatch(needed, chance) is None


def test_many_chicks_of_a_rare_class_are_counted_exactly() -> None:
    """As many as by whole numbers, where the ways to choose them are past the largest float."""
    total = chicks_to_hatch(150, 0.02)
    assert total is not None
    assert total > 7_500
    for chicks, enough in ((total - 1, False), (total, True)):
        ways = sum(comb(chicks, k) * 49 ** (chicks - k) for k in range(150))
        assert (20 * ways <= 50**chicks) is enough


@pytest.mark.parametrize(("symbol", "mate_copies"), [("E", 0), ("eb", 2)])
def test_the_top_and_the_bottom_of_a_series_are_proved_like_two_alleles(
    symbol: str, mate_copies: int
) -> None:
    """The top allele shows over all others; the bottom one shows only doubled."""
    test = best(symbol, Sex.COCK, HALF)
    assert (test.mate_copies, test.chicks(0.95), test.chicks(0.99)) == (mate_copies, 5, 7)


def test_an_allele_that_others_hide_and_that_hides_others_is_not_proved_by_looks() -> None:
    for test in progeny_tests(HALF, LOCI["eWh"], Sex.COCK, Question.FREE):
        assert (test.obstacle, test.chicks(0.95)) == (Obstacle.OTHER_ALLELES, None)


def test_a_scoring_error_of_a_series_is_shared_among_its_looks() -> None:
    """Five alleles: a chick without the top one is taken for it in a quarter of the errors."""
    locus = replace(LOCI["E"], error=0.04)
    test = progeny_tests(HALF, locus, Sex.COCK, Question.FREE)[0]
    assert test.likelihood == pytest.approx((0.99, 0.5 * 0.99 + 0.5 * 0.04, 0.04))
