"""Linkage values of the catalogue as papers and tables print them, and how sure each is.

Landauer, Creeper V, J Genet (abstract read); the three-point cross of crest, dominant white and
frizzle (abstract read; Warren and Hutt 1936, Am Nat 70, from memory); Bitgood 1999, Poult Sci
78:1100 (values read in abstract and digest); a compiled table of a fanciers' site (read), whose
handbooks were not.
"""

from __future__ import annotations

import pytest

from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import recombination_between

PRINTED = [
    # per cent, decimals as printed, how far confirmed
    ("R", "Cp", 0.36, 2, "high"),
    ("Cr", "I", 12.5, 1, "high"),
    ("I", "F", 17.1, 1, "high"),
    ("Cr", "F", 29.4, 1, "high"),
    ("S", "K", 2.4, 1, "high"),
    ("pop", "S", 17.8, 1, "high"),
    ("pop", "K", 19.0, 1, "high"),
    ("Na", "h", 43.0, 0, "medium"),
    ("O", "P", 4.0, 0, "low"),
    ("cha", "P", 0.3, 1, "low"),
    ("P", "Db", 32.0, 0, "low"),
    ("Db", "Ml", 12.0, 0, "low"),
    ("Ml", "Pg", 10.0, 0, "low"),
    ("D", "M", 27.0, 0, "low"),
    ("M", "Po", 33.0, 0, "low"),
]


@pytest.mark.parametrize(("one", "other", "percent", "decimals", "confidence"), PRINTED)
def test_recombination_is_the_printed_one(
    one: str, other: str, percent: float, decimals: int, confidence: str
) -> None:
    loci = catalogue()
    share = recombination_between(loci[one], loci[other])
    assert share is not None
    assert round(100 * share, decimals) == percent
    (link,) = [link for link in loci[one].linkages if link.symbol == other]
    assert link.confidence == confidence


def test_creeper_and_rose_comb_part_as_often_as_landauer_counted() -> None:
    """24 recombinants among 6,627 backcross chicks."""
    share = recombination_between(catalogue()["Cp"], catalogue()["R"])
    assert share is not None
    assert round(6627 * share) == 24


def test_crest_white_and_frizzle_lie_in_one_line() -> None:
    """The outer recombination is the largest and near the sum of the inner ones."""
    loci = catalogue()
    inner = [recombination_between(loci["I"], loci[symbol]) for symbol in ("Cr", "F")]
    outer = recombination_between(loci["Cr"], loci["F"])
    assert None not in inner
    assert outer is not None
    assert max(share or 0 for share in inner) < outer <= sum(share or 0 for share in inner)


def test_silver_lies_between_pop_eye_and_slow_feathering() -> None:
    loci = catalogue()
    to_silver = recombination_between(loci["pop"], loci["S"])
    onward = recombination_between(loci["S"], loci["K"])
    whole = recombination_between(loci["pop"], loci["K"])
    assert to_silver is not None
    assert onward is not None
    assert whole is not None
    assert to_silver < whole <= to_silver + onward
