"""Crosses of two loci and of the Z in exact fractions, as routes are searched with.

Punnett 1911, Mendelism, third edition: rose and pea (pages 33-34), blue (70-71), the Silky and the
Brown Leghorn, a gene on the Z with an autosomal one (105-111); ratios read in the text. Gold cock
by silver hen: "A case of non-disjunction in the fowl", Proc R Soc Edinb, abstract.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus
from matchmaker.route.genome import Genome, genome_of
from matchmaker.route.search import Search
from matchmaker.tables.records import Sex
from tests.route_helpers import task_of

if TYPE_CHECKING:
    from matchmaker.route.genome import Mix

COCK, HEN = Sex.COCK, Sex.HEN
INHIBITOR = Locus(symbol="Inh", name="inhibitor of skin pigment", z_linked=True)
PIGMENT = Locus(symbol="Pig", name="skin pigment")
SKIN = genome_of({"Pig": PIGMENT, "Inh": INHIBITOR})
SILKY, LEGHORN = (1, 0), (0, 1)


def having(genome: Genome, mix: Mix, shows: tuple[bool, ...]) -> Fraction:
    """Part of a class that has, or has not, a copy at each locus."""
    return sum(
        (p for state, p in mix if tuple(c > 0 for c in genome.copies(state)) == shows),
        Fraction(0),
    )


def first(genome: Genome, sire: tuple[int, ...], dam: tuple[int, ...], sex: Sex) -> Mix:
    """A first cross of two pure breeds."""
    return genome.chicks(genome.pure(COCK, sire), genome.pure(HEN, dam), sex)


def test_walnut_by_walnut_and_walnut_by_single() -> None:
    """9 walnut, 3 rose, 3 pea, 1 single; then one of each."""
    genome = genome_of({symbol: catalogue()[symbol] for symbol in ("R", "P")})
    cock, hen = (first(genome, (1, 1), (0, 0), sex) for sex in (COCK, HEN))
    kinds = [(True, True), (True, False), (False, True), (False, False)]
    combs = genome.chicks(cock, hen, HEN)
    assert [having(genome, combs, kind) * 16 for kind in kinds] == [9, 3, 3, 1]
    single = genome.chicks(cock, genome.pure(HEN, (0, 0)), COCK)
    assert {having(genome, single, kind) for kind in kinds} == {Fraction(1, 4)}


def test_blue_by_blue_and_why_the_route_to_blue_never_breeds_true() -> None:
    """1 black, 2 blue, 1 splash: so blue is one copy, made anew by each backcross."""
    task = task_of({"Bl": 1}, backcrosses=0)
    blue = {sex: first(task.genome, (1,), (0,), sex) for sex in (COCK, HEN)}
    assert [p for _, p in task.genome.chicks(blue[COCK], blue[HEN], HEN)] == [
        Fraction(1, 4),
        Fraction(1, 2),
        Fraction(1, 4),
    ]
    (found,) = Search(task).find(slack=0)
    assert found.season == 1


@pytest.mark.parametrize(
    ("sire", "dam", "sons", "daughters"),
    [
        (0, 1, 1, 0),  # gold cock × silver hen: silver sons, gold daughters
        (1, 0, 1, 1),  # the reverse: all silver
    ],
)
def test_gold_and_silver(sire: int, dam: int, sons: int, daughters: int) -> None:
    genome = genome_of({"S": catalogue()["S"]})
    found = [having(genome, first(genome, (sire,), (dam,), sex), (True,)) for sex in (COCK, HEN)]
    assert found == [sons, daughters]


def test_silver_carrier_cocks_give_half_of_either_sex() -> None:
    """Own arithmetic on the rule above: Ss × s is 1:1 in sons and in daughters."""
    genome = genome_of({"S": catalogue()["S"]})
    carrier = first(genome, (1,), (0,), COCK)
    for sex in (COCK, HEN):
        chicks = genome.chicks(carrier, genome.pure(HEN, (0,)), sex)
        assert having(genome, chicks, (True,)) == Fraction(1, 2)


class TestSilkyAndBrownLeghorn:
    """Full pigment: pigment without the inhibitor."""

    FULL = (True, False)

    def test_silky_hen_by_leghorn_cock_gives_no_full_chick(self) -> None:
        for sex in (COCK, HEN):
            assert having(SKIN, first(SKIN, LEGHORN, SILKY, sex), self.FULL) == 0

    def test_leghorn_hen_by_silky_cock_gives_full_daughters_only(self) -> None:
        assert having(SKIN, first(SKIN, SILKY, LEGHORN, HEN), self.FULL) == 1
        assert having(SKIN, first(SKIN, SILKY, LEGHORN, COCK), self.FULL) == 0

    def test_first_cross_cock_by_leghorn_hen_gives_an_eighth_all_hens(self) -> None:
        cock = first(SKIN, SILKY, LEGHORN, COCK)
        daughters, sons = (
            having(SKIN, SKIN.chicks(cock, SKIN.pure(HEN, LEGHORN), sex), self.FULL)
            for sex in (HEN, COCK)
        )
        assert daughters == Fraction(1, 4)
        assert sons == 0
        assert (daughters + sons) / 2 == Fraction(1, 8)

    def test_first_cross_hens_by_leghorn_cock_give_none(self) -> None:
        for sire, dam in ((SILKY, LEGHORN), (LEGHORN, SILKY)):
            hen = first(SKIN, sire, dam, HEN)
            for sex in (COCK, HEN):
                chicks = SKIN.chicks(SKIN.pure(COCK, LEGHORN), hen, sex)
                assert having(SKIN, chicks, self.FULL) == 0
