"""Crosses, linkage and proofs by chicks beside printed ratios and counts, and another program."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.stats import binom, binomtest

from matchmaker.genetics.genotypes.chicks import lethal_fraction
from matchmaker.genetics.genotypes.progeny import chicks_to_hatch
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.hatch.exact import exact_fit
from tests.locus_helpers import chicks_of
from tests.published import (
    test_davenport_1909,
    test_linked_crosses,
    test_progeny_test,
    test_punnett_1911,
    test_sex_linked_crosses,
)
from tests.published.crosses import chi_square, chicks
from tests.validation.checks import Effort, Near, Origin, Section, Standing
from tests.validation.plots import row_of_ranges

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.validation.checks import Check, Figure

BY_HAND = Origin(source="published/test_davenport_1909.py", standing=Standing.OWN)
EXACT = Origin(source="published/test_exact_counts.py", standing=Standing.RUN)
RATIOS = Origin(source="published/test_punnett_1911.py")
LINKED = Origin(source="published/test_linked_crosses.py")
PROOF = Origin(source="published/test_progeny_test.py", standing=Standing.MEMORY)


def section(effort: Effort) -> Section:
    """Genotypes and linkage."""
    return Section(
        key="genotypes",
        title="Genotypes and linkage",
        about="What chicks of a cross can be, by Mendel's laws, for autosomes, for the Z and for "
        "two loci on one chromosome; how well counted chicks agree; how many chicks prove a bird.",
        checks=(
            *_ratios(),
            *_counts(),
            *_exact_counts(),
            *_linked(),
            *_proofs(),
            *(_other_program() if effort.peers else ()),
        ),
        figures=(_figure_of_counts(),),
    )


def _ratios() -> Iterator[Check]:
    yield RATIOS.check(
        "walnut, rose, pea and single combs: walnut by walnut, 9:3:3:1 (pp. 33-34)",
        test_punnett_1911.combs("F1-COCK", "F1-HEN"),
        np.array([9, 3, 3, 1]) / 16,
    )
    yield RATIOS.check(
        "walnut by single, 1:1:1:1 (p. 34)",
        test_punnett_1911.combs("F1-COCK", "PLAIN-HEN"),
        [0.25] * 4,
    )
    yield RATIOS.check(
        "blue by blue, 1:2:1 (pp. 70-71)",
        chicks(catalogue()["Bl"], "F1-COCK", "F1-HEN", "hen"),
        [0.25, 0.5, 0.25],
    )
    crossing = "F1 cock of Silky hen by Leghorn hen"
    yield RATIOS.check(
        "full skin pigment, a gene on the Z with an autosomal one: sons, daughters (pp. 105-111)",
        [test_punnett_1911.full_pigment(crossing, sex) for sex in ("cock", "hen")],
        [0, 0.25],
    )
    for mating, (hen, cock, sons, daughters) in test_sex_linked_crosses.SILVER.items():
        found = chicks_of("S", hen, cock)
        read = mating.startswith("gold cock")
        yield Origin(
            source="published/test_sex_linked_crosses.py",
            standing=Standing.READ if read else Standing.OWN,
        ).check(f"silver and gold, {mating}", [found.sons, found.daughters], [sons, daughters])
    both = np.zeros((3, 3))
    both[1, 1] = 1.0
    yield Origin(source="published/test_cutler_1925.py").check(
        "creeper by creeper: the share of embryos that die",
        lethal_fraction(both, catalogue()["Cp"]),
        0.25,
    )


def _counts() -> Iterator[Check]:
    for name, cross in test_davenport_1909.CROSSES.items():
        chances = test_davenport_1909.engines_chances(name)
        counts = ":".join(map(str, cross.counts))
        yield BY_HAND.check(
            f"{name}: chi-square of {counts} ({cross.classes}) on the engine's ratio",
            chi_square(cross.counts, chances),
            cross.statistic,
            tolerance=5.1e-5,
            near=Near.PRINTED,
        )


def _exact_counts() -> Iterator[Check]:
    two = [one for one in test_davenport_1909.CROSSES.values() if len(one.counts) == 2]
    yield EXACT.check(
        "exact chance of a count of two classes, beside scipy's binomial test",
        [exact_fit(one.counts, [one.expected]).p for one in two],
        [binomtest(one.counts[0], sum(one.counts), one.expected[0]).pvalue for one in two],
        tolerance=1e-9,
    )


def _linked() -> Iterator[Check]:
    birds, counted, expected = test_linked_crosses.LANDAUER
    found = birds * test_linked_crosses.recombinant("R", "Cp")
    yield Origin(source="published/test_linked_crosses.py", standing=Standing.OWN).check(
        "recombinants of creeper and rose comb expected among 6,627 backcross chicks",
        found,
        expected,
        tolerance=0.051,
        near=Near.PRINTED,
        unit="chicks",
    )
    yield LINKED.check(
        "the same beside those counted",
        found,
        counted,
        tolerance=5 * counted**0.5,
        near=Near.CHANCE,
        unit="chicks",
    )
    points = test_linked_crosses.THREE_POINTS
    yield LINKED.check(
        "recombination of crest, dominant white and frizzle, two at a time, in backcross chicks",
        [100 * test_linked_crosses.recombinant(one, two) for one, two, _ in points],
        [percent for *_, percent in points],
        tolerance=1e-9,
        unit="%",
    )


def _proofs() -> Iterator[Check]:
    clean = test_progeny_test.CLEAN
    found = []
    for copies, level, most in clean:
        test = test_progeny_test.f2_cock(copies, 0.5)
        found.append(next(n for n in range(most + 5) if test.luck(n) < level))
    yield PROOF.check(
        "clean chicks until luck is less likely than 5, 1 or 0.1 %",
        found,
        [number for *_, number in clean],
        unit="chicks",
    )
    posteriors = test_progeny_test.POSTERIORS
    yield Origin(source="published/test_progeny_test.py", standing=Standing.OWN).check(
        "chance that an F2 bird is split after 0 to 8 clean test chicks",
        [test_progeny_test.heterozygous("TESTER", number) for number, _ in posteriors],
        [value for _, value in posteriors],
        tolerance=5.1e-5,
        near=Near.PRINTED,
    )
    needed = test_progeny_test.NEEDED
    yield PROOF.check(
        "chicks for at least 1 to 15 of a class with 95 and 99 %",
        [
            [chicks_to_hatch(least, chance, level) or 0 for level in (0.95, 0.99)]
            for chance, least, *_ in needed
        ],
        [both for _, _, *both in needed],
        unit="chicks",
    )


def _other_program() -> Iterator[Check]:
    # here: it takes seconds to be imported
    from tests.bayesian import Described, pgmpy
    from tests.oracle.test_pgmpy import LOCI, possible

    library = pgmpy()
    for kind, locus in LOCI.items():
        flock, fast = possible(0, locus)
        described = Described(library, flock)
        yield Origin(source="oracle/test_pgmpy.py", standing=Standing.RUN).check(
            f"chances of 0, 1 and 2 copies in each bird of a tangled pedigree, {kind} locus",
            [fast(bird) for bird in flock.pedigree.birds],
            [described.marginal(bird) for bird in flock.pedigree.birds],
            tolerance=1e-9,
        )


def _figure_of_counts() -> Figure:
    rows = []
    for name, cross in test_davenport_1909.CROSSES.items():
        total = sum(cross.counts)
        low, high = binom.interval(0.95, total, test_davenport_1909.engines_chances(name)[0])
        rows.append(
            (
                f"{name}: {cross.classes.split(':')[0]}",
                float(100 * low / total),
                100 * cross.counts[0] / total,
                float(100 * high / total),
            )
        )
    return row_of_ranges(
        "counts",
        "Chicks counted beside chicks expected",
        (
            "Of each cross, the first class in per cent of all chicks: the range that 95 crosses "
            "in 100 of that size would give by the engine's ratio, and what was counted. "
            "Case 13 is a bad fit in the book too: it stands here because a right test must see "
            "it."
        ),
        rows,
        counted="% of chicks",
        heads=("cross and class", "95 in 100 by the engine", "counted, %", "expected range, %"),
    )
