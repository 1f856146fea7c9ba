"""Counted chicks of a pen: beside chicks written one by one, and beside every genotype weighed.

A count of chicks whose hens are not told apart says as much as so many birds of their own, each
with all these possible parents and its own look; that the engine weighs birds rightly is tested
elsewhere against full enumeration.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.genetics.genotypes import counted
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.inferred import infer
from matchmaker.genetics.genotypes.network import Problem, networks
from matchmaker.genetics.genotypes.observed import ChickCount, Evidence, Place, Sighting, birds_of
from matchmaker.genetics.genotypes.words import meaning, weights
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.hatch.expected import by_parents, classes_of, expectation
from matchmaker.tables.records import Sex
from tests.builders import checked, cock, dna, hen
from tests.descent_helpers import pedigree

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.words import Meaning
    from matchmaker.genetics.loci.locus import Locus
    from tests.builders import Row

PEN = pedigree(
    "A cock recurrent recurrent",
    "B hen donor donor",
    "C cock A B",
    "D cock A B",
    "E hen A B",
    "F hen C recurrent",
    "G hen recurrent B|recurrent",
    "H hen D E",
)
HENS, COCKS = ("E", "F", "G", "H"), ("C", "D")
SPOT = Place(file="seen.csv", row=9, column="what", words="")
HALF = {"donor": 0.7, "recurrent": 0.2}


def locus_of(symbol: str) -> Locus:
    return replace(catalogue()[symbol], frequency=HALF)


def count_of(
    locus: Locus,
    hens: tuple[tuple[str, float], ...],
    cocks: tuple[tuple[str, float], ...],
    counts: dict[str, int],
) -> ChickCount:
    classes = tuple((weights(locus, _meant(locus, words)), n) for words, n in counts.items())
    several = len(hens) + len(cocks) > 2
    return ChickCount(
        hen="|".join(band for band, _ in hens),
        cock="|".join(band for band, _ in cocks),
        classes=classes,
        place=SPOT,
        hens=hens if several else (),
        cocks=cocks if several else (),
    )


def _meant(locus: Locus, words: str) -> Meaning:
    found = meaning(locus, words)
    assert found is not None
    return found


def one_by_one(count: ChickCount) -> tuple[Pedigree, list[Evidence]]:
    """The same as birds: each chick with all its possible parents."""
    nodes = PEN.node_of()
    hens = count.hens or ((count.hen, 1.0),)
    cocks = count.cocks or ((count.cock, 1.0),)
    looks = [look for look, n in count.classes for _ in range(n)]
    bands = tuple(f"X{at}" for at in range(len(looks)))
    whole = replace(
        PEN,
        birds=(*PEN.birds, *bands),
        sexes=(*PEN.sexes, *(None for _ in bands)),
        sires=(*PEN.sires, *(tuple((nodes[b], p) for b, p in cocks) for _ in bands)),
        dams=(*PEN.dams, *(tuple((nodes[b], p) for b, p in hens) for _ in bands)),
    )
    pairs = zip(bands, looks, strict=True)
    return whole, [Sighting(bird=band, weights=look, place=SPOT) for band, look in pairs]


def shares(draw: st.DrawFn, birds: tuple[str, ...]) -> tuple[tuple[str, float], ...]:
    chosen = draw(st.lists(st.sampled_from(birds), min_size=1, max_size=3, unique=True))
    parts = draw(st.lists(st.integers(1, 4), min_size=len(chosen), max_size=len(chosen)))
    return tuple((band, n / sum(parts)) for band, n in zip(chosen, parts, strict=True))


COUNTS, SUMS = "COUNT_STATES_MAX", "SUM_STATES_MAX"
WAYS = ("one factor", "sums of gametes", "stand-ins")


@st.composite
def counts(draw: st.DrawFn) -> tuple[str, ChickCount]:
    symbol, words = draw(
        st.sampled_from(
            [("P", ("pea", "single")), ("S", ("silver", "gold")), ("lav", ("lavender", "black"))]
        )
    )
    locus = locus_of(symbol)
    told = {word: draw(st.integers(0, 3)) for word in words}
    return symbol, count_of(locus, shares(draw, HENS), shares(draw, COCKS), told)


@pytest.mark.parametrize("narrow", [{}, {COUNTS: 1}, {COUNTS: 1, SUMS: 1}], ids=WAYS)
@settings(max_examples=25, deadline=None, derandomize=True)
@given(drawn=counts())
def test_a_count_says_what_its_chicks_say_one_by_one(
    narrow: dict[str, int],
    drawn: tuple[str, ChickCount],
) -> None:
    symbol, count = drawn
    locus = locus_of(symbol)
    whole, seen = one_by_one(count)
    slow = genotype_probabilities(whole, locus, seen, "recurrent").probabilities[: len(PEN.birds)]
    with pytest.MonkeyPatch.context() as patch:
        for name, most in narrow.items():
            patch.setattr(counted, name, most)
        fast = genotype_probabilities(PEN, locus, [count], "recurrent").probabilities
    np.testing.assert_allclose(fast, slow, atol=1e-9)


def test_at_two_linked_loci_too() -> None:
    """Ten states a bird, of which the count asks for three."""
    comb = replace(locus_of("P"), linked_to="O", recombination=0.04)
    loci = {"O": locus_of("O"), "P": comb}
    for hens in (HENS[:3], HENS):
        told = tuple((hen, 1 / len(hens)) for hen in hens)
        count = count_of(comb, told, (("C", 1.0),), {"pea": 3, "single": 2})
        whole, seen = one_by_one(count)
        slow = infer(whole, loci, {"O": (), "P": seen}, "recurrent")
        fast = infer(PEN, loci, {"O": (), "P": [count]}, "recurrent")
        for symbol in loci:
            np.testing.assert_allclose(
                fast.genotypes[symbol].probabilities,
                slow.genotypes[symbol].probabilities[: len(PEN.birds)],
                atol=1e-9,
            )


def test_a_count_of_several_speaks_of_all_of_them() -> None:
    count = count_of(locus_of("P"), (("E", 0.5), ("F", 0.5)), (("C", 1.0),), {"pea": 1})
    assert birds_of(count) == ("E", "F", "C")


@pytest.mark.parametrize(
    ("symbol", "words"),
    [("P", ("pea", "single")), ("S", ("silver", "gold")), ("Cr", ("crest", "no crest"))],
)
@pytest.mark.parametrize("pair", [("E", "C"), ("F", "C"), ("H", "D"), ("G", "D")])
def test_what_is_expected_of_a_pair_is_what_all_genotypes_give(
    symbol: str, words: tuple[str, str], pair: tuple[str, str]
) -> None:
    """By hand: the pair's joint genotypes, each gamete of each, each look."""
    locus = locus_of(symbol)
    genotypes = genotype_probabilities(PEN, locus, (), "recurrent")
    classes = classes_of(locus, dict.fromkeys(words, 1))
    assert classes is not None
    hen, cock = pair
    found = expectation(genotypes, classes, [(cock, Fraction(1))], [(hen, Fraction(1))])
    joint = genotypes.joint([hen], [cock])[0, 0]
    by_hand: dict[tuple[float, ...], float] = defaultdict(float)
    for hers, his in itertools.product(range(3), range(3)):
        if joint[hers, his] > 0:
            by_hand[_looks(locus, words, hers, his)] += float(joint[hers, his])
    rows = {
        tuple(np.round(row, 9).tolist()): float(weight)
        for row, weight in zip(found.chances[:, :2], found.weights, strict=True)
    }
    assert rows == pytest.approx(dict(by_hand))
    assert not found.approximate


def _looks(locus: Locus, words: tuple[str, str], hers: int, his: int) -> tuple[float, ...]:
    """Chance of each look of a chick of parents with so many copies, gamete by gamete."""
    totals = [0.0] * len(words)
    for sex in Sex:
        of_hen = [int(hers > 0)] if locus.z_linked else [int(n < hers) for n in range(2)]
        for sperm in (int(n < his) for n in range(2)):
            for egg in of_hen:
                daughter = locus.z_linked and sex is Sex.HEN
                copies = sperm + (0 if daughter else egg)
                for at, word in enumerate(words):
                    seen = weights(locus, _meant(locus, word))[0 if sex is Sex.COCK else 1]
                    totals[at] += seen[copies] / (2 * 2 * len(of_hen))
    return tuple(np.round(totals, 9).tolist())


def test_of_several_parents_it_is_their_mean() -> None:
    locus = locus_of("P")
    genotypes = genotype_probabilities(PEN, locus, (), "recurrent")
    classes = classes_of(locus, {"pea": 1, "single": 1})
    assert classes is not None
    hens = [("E", Fraction(1, 4)), ("F", Fraction(3, 4))]
    both = expectation(genotypes, classes, [("C", Fraction(1))], hens)
    alone = [
        expectation(genotypes, classes, [("C", Fraction(1))], [(h, Fraction(1))]) for h, _ in hens
    ]
    mean = sum(float(w) * np.array(one.mean) for (_, w), one in zip(hens, alone, strict=True))
    np.testing.assert_allclose(both.mean, mean, atol=1e-9)
    assert both.approximate
    assert by_parents(classes).shape == (3, 3, 2)


def test_many_uncertain_parents_are_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    from matchmaker.hatch import expected

    locus = locus_of("P")
    genotypes = genotype_probabilities(PEN, locus, (), "recurrent")
    classes = classes_of(locus, {"pea": 1, "single": 1})
    assert classes is not None
    sires = [("C", Fraction(1, 2)), ("D", Fraction(1, 2))]
    hens = [(hen, Fraction(1, 4)) for hen in HENS]
    whole = expectation(genotypes, classes, sires, hens)
    monkeypatch.setattr(expected, "MOST_TOGETHER", 1)
    drawn = expectation(genotypes, classes, sires, hens)
    np.testing.assert_allclose(drawn.mean, whole.mean, atol=0.03)
    assert drawn.approximate


def test_sums_are_not_sampled(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sum follows from its parts, so chains would stick: the form drawn from has none."""
    monkeypatch.setattr(counted, COUNTS, 1)
    locus = locus_of("P")
    told = tuple((hen, 1 / len(HENS)) for hen in HENS)
    counts_of_pen = (count_of(locus, told, (("C", 1.0),), {"pea": 2, "single": 1}),)
    asked = Problem(pedigree=PEN, recurrent="recurrent", loci=(locus,), evidence=(counts_of_pen,))
    forms = [bool(one.sums) for one in networks(asked, range(PEN.first_bird, PEN.first_bird + 1))]
    assert (forms[0], forms[-1]) == (True, False)


@pytest.mark.parametrize("weights_of_hens", [(1, 1, 1, 1), (1, 2, 3, 4)])
def test_what_is_expected_of_a_pen_is_what_all_genotypes_of_it_give(
    weights_of_hens: tuple[int, ...],
) -> None:
    """By hand: every genotype of two cocks and four hens, each hen independent."""
    locus = locus_of("P")
    genotypes = genotype_probabilities(PEN, locus, (), "recurrent")
    classes = classes_of(locus, {"pea": 1, "single": 1})
    assert classes is not None
    hens = [
        (h, Fraction(w, sum(weights_of_hens))) for h, w in zip(HENS, weights_of_hens, strict=True)
    ]
    found = expectation(genotypes, classes, [("C", Fraction(1, 3)), ("D", Fraction(2, 3))], hens)
    by_hand: dict[float, float] = defaultdict(float)
    birds = [("C", Fraction(1, 3)), ("D", Fraction(2, 3)), *hens]
    for copies in itertools.product(range(3), repeat=len(birds)):
        chance = 1.0
        for (bird, _), n in zip(birds, copies, strict=True):
            chance *= float(genotypes.of(bird)[n])
        plain = [
            sum((1 - n / 2) * float(w) for (_, w), n in zip(birds[part], copies[part], strict=True))
            for part in (slice(0, 2), slice(2, None))
        ]
        if chance:
            by_hand[round(plain[0] * plain[1], 9)] += chance
    single = found.chances[:, classes.names.index("single")].round(9)
    rows: dict[float, float] = defaultdict(float)
    for at, weight in zip(single.tolist(), found.weights.tolist(), strict=True):
        rows[at] += weight
    assert dict(rows) == pytest.approx(dict(by_hand))


def test_a_pen_of_many_hens_is_worked_out_exactly(tmp_path: Path) -> None:
    """Fourteen hens alike: by hand, the sum over how many genes in 28 carry the comb."""
    hens = [f"H{at}" for at in range(14)]
    birds = [cock("AC", "Alder", "sussex:0.5|araucana:0.5"), cock("SC"), hen("S1")]
    birds += [hen(name, "Alder", "sussex:0.5|araucana:0.5") for name in hens]
    told: list[Row] = [
        {"hen": "|".join(hens), "cock": "AC", "locus": "P", "what": "20 pea, 9 single"}
    ]
    alone, found = (
        checked(tmp_path / str(at), birds, "[loci.P]\n", seen=rows)
        for at, rows in enumerate([[dna("S1", "P", 0)], told])
    )
    assert alone.table is not None
    assert found.table is not None
    assert found.table.study.genotypes["P"].method == "exact"
    priors = [alone.table.study.genotypes["P"].of(name) for name in ("AC", "H0")]
    copies = np.array([1.0])
    for _ in hens:
        copies = np.convolve(copies, priors[1])
    plain = np.outer(1 - np.arange(3) / 2, 1 - np.arange(len(copies)) / 28)
    weight = np.outer(priors[0], copies) * (1 - plain) ** 20 * plain**9
    expected = weight.sum(axis=1) / weight.sum()
    np.testing.assert_allclose(found.table.study.genotypes["P"].of("AC"), expected, atol=1e-9)
