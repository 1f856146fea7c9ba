"""Punnett 1911, Mendelism, third edition: ratios of combs, of blue, and of a gene on the Z.

Ratios read in the text (pages below); the book gives no counts that could be tested.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from matchmaker.genetics.genotypes.linked import linked_genotypes
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus
from tests.published.crosses import CROSSES, chicks, shown

ROSE, PEA = catalogue()["R"], catalogue()["P"]


def combs(sire: str, dam: str) -> tuple[float, float, float, float]:
    """Walnut, rose, pea, single among the chicks of a doubly heterozygous cock."""
    rose, pea = shown(ROSE, sire, dam), shown(PEA, sire, dam)
    return (rose * pea, rose * (1 - pea), (1 - rose) * pea, (1 - rose) * (1 - pea))


def test_walnut_by_walnut_is_nine_three_three_one() -> None:
    """Pages 33-34."""
    assert combs("F1-COCK", "F1-HEN") == (9 / 16, 3 / 16, 3 / 16, 1 / 16)


def test_the_engine_itself_puts_two_combs_together() -> None:
    """Pages 33-34, by the engine's own joint chances of two loci: 9:3:3:1, and one of each."""
    for dam, ratio in (("F1-HEN", (9, 3, 3, 1)), ("PLAIN-HEN", (1, 1, 1, 1))):
        pure = [replace(locus, frequency={"donor": 1.0}) for locus in (ROSE, PEA)]
        both = linked_genotypes(CROSSES, (pure[0], pure[1]), ((), ()), "recurrent")
        joint = both.chicks([dam], ["F1-COCK"]).sons[0, 0]
        found = (joint[1:, 1:].sum(), joint[1:, 0].sum(), joint[0, 1:].sum(), joint[0, 0])
        assert found == pytest.approx([part / sum(ratio) for part in ratio], abs=1e-15)


def test_walnut_by_single_is_one_of_each() -> None:
    """Page 34."""
    assert combs("F1-COCK", "PLAIN-HEN") == (1 / 4, 1 / 4, 1 / 4, 1 / 4)


def test_blue_by_blue_is_one_two_one() -> None:
    """Pages 70-71: black, blue, splashed white as 1:2:1."""
    assert chicks(catalogue()["Bl"], "F1-COCK", "F1-HEN", "hen") == (1 / 4, 1 / 2, 1 / 4)


def test_black_by_splash_is_all_blue() -> None:
    """Pages 70-71."""
    assert chicks(catalogue()["Bl"], "DONOR-COCK", "PLAIN-HEN", "hen") == (0.0, 1.0, 0.0)


INHIBITOR = Locus(symbol="Inh", name="inhibitor of skin pigment", z_linked=True)
"""Carried by the Brown Leghorn; keeps the Silky's skin pigment from showing in full."""

PIGMENT = Locus(symbol="Pig", name="skin pigment", dominance="dominant")


def full_pigment(crossing: str, sex: str) -> float:
    """P(pigment without inhibitor); the donor of the inhibitor is the Brown Leghorn.

    ``crossing`` names "sire by dam" out of Silky, Leghorn and their two kinds of F1.
    """
    sire, dam = crossing.split(" by ")
    # The Silky is the plain parent for the inhibitor, and the donor for the pigment.
    inhibitor = {
        "Leghorn cock": "DONOR-COCK",
        "Leghorn hen": "DONOR-HEN",
        "Silky cock": "PLAIN-COCK",
        "Silky hen": "PLAIN-HEN",
        "F1 cock of Silky hen": "F1-COCK",
        "F1 hen of Silky hen": "F1-HEN",
        "F1 cock of Leghorn hen": "F1-COCK-2",
        "F1 hen of Leghorn hen": "F1-HEN-2",
    }
    pigment = {
        "Leghorn cock": "PLAIN-COCK",
        "Leghorn hen": "PLAIN-HEN",
        "Silky cock": "DONOR-COCK",
        "Silky hen": "DONOR-HEN",
        "F1 cock of Silky hen": "F1-COCK-2",
        "F1 hen of Silky hen": "F1-HEN-2",
        "F1 cock of Leghorn hen": "F1-COCK",
        "F1 hen of Leghorn hen": "F1-HEN",
    }
    inhibited = shown(INHIBITOR, inhibitor[sire], inhibitor[dam], sex)
    return shown(PIGMENT, pigment[sire], pigment[dam], sex) * (1 - inhibited)


@pytest.mark.parametrize(
    ("crossing", "sons", "daughters"),
    [
        ("Leghorn cock by Silky hen", 0.0, 0.0),
        ("Silky cock by Leghorn hen", 0.0, 1.0),
        ("F1 cock of Silky hen by Leghorn hen", 0.0, 1 / 4),
        ("F1 cock of Leghorn hen by Leghorn hen", 0.0, 1 / 4),
        ("Leghorn cock by F1 hen of Silky hen", 0.0, 0.0),
        ("Leghorn cock by F1 hen of Leghorn hen", 0.0, 0.0),
    ],
)
def test_silky_by_brown_leghorn(crossing: str, sons: float, daughters: float) -> None:
    """Pages 105-111: full pigment, by sex."""
    assert full_pigment(crossing, "cock") == sons
    assert full_pigment(crossing, "hen") == daughters


@pytest.mark.parametrize(
    ("stock", "sons", "daughters"),
    [("Silky hen", 0.0, 3 / 8), ("Leghorn hen", 3 / 8, 3 / 8)],
)
def test_silky_by_brown_leghorn_f2(stock: str, sons: float, daughters: float) -> None:
    """F2 by our own arithmetic from the rule of pages 105-111: 3/16 of all, or of each sex."""
    crossing = f"F1 cock of {stock} by F1 hen of {stock}"
    assert full_pigment(crossing, "cock") == sons
    assert full_pigment(crossing, "hen") == daughters


def test_dominant_white_over_recessive_white_f2_is_thirteen_to_three() -> None:
    """CCII by ccii; ratio read on a teaching page, arithmetic exact."""
    white, hidden = catalogue()["I"], catalogue()["c"]
    coloured = (1 - shown(white, "F1-COCK", "F1-HEN")) * (1 - shown(hidden, "F1-COCK", "F1-HEN"))
    assert coloured == 3 / 16
