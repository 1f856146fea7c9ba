"""Kinship and inbreeding beside printed matrices, series of regular mating and another program."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.kin.ancestry import ancestry_of_parents
from matchmaker.genetics.kin.diversity import effective_size_by_sexes, gene_diversity
from matchmaker.genetics.kin.kinship import inbreeding_of, kinship_matrix, kinship_of
from tests.kinship_helpers import simulated_flock
from tests.published import (
    test_alvarez_2009,
    test_christensen_kvl,
    test_henderson_1988,
    test_kinship2_package,
    test_lacy_1989,
    test_lange_2003,
    test_mcpeek_x,
    test_mrode_2014,
    test_regular_inbreeding,
    test_wright_1931,
)
from tests.published.pedigrees import (
    by_descent,
    inbreeding,
    kinship,
    mirrored_z_kinship,
    pedigree_of,
    relationship,
)
from tests.validation.checks import Effort, Near, Origin, Section, Standing, floats
from tests.validation.plots import by_generation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.validation.checks import Check, Figure

MRODE, MRODE_MEMORY = (
    Origin(source="published/test_mrode_2014.py", standing=standing)
    for standing in (Standing.READ, Standing.MEMORY)
)
KVL, KVL_OWN = (
    Origin(source="published/test_christensen_kvl.py", standing=standing)
    for standing in (Standing.READ, Standing.OWN)
)
REGULAR = Origin(source="published/test_regular_inbreeding.py", standing=Standing.MEMORY)
UNCERTAIN = Origin(source="published/test_henderson_1988.py", standing=Standing.OWN)


def section(effort: Effort) -> Section:
    """Kinship and inbreeding."""
    return Section(
        key="kin",
        title="Kinship and inbreeding",
        about="Kinship is the chance that two alleles, one of each bird, come from the same allele "
        "of one forebear; inbreeding is the kinship of a bird's parents. Relationship is twice the "
        "kinship.",
        checks=(
            *_matrices(),
            *_relatives(),
            *_on_the_z(),
            *_series(),
            *_flocks(),
            *(_other_program() if effort.peers else ()),
        ),
        figures=(_figure_of_systems(), _figure_of_pens()),
    )


def _matrices() -> Iterator[Check]:
    table = test_mrode_2014.TABLE_2_1
    yield MRODE_MEMORY.check(
        "relationships of six animals (Table 2.1), whole matrix",
        floats(relationship(table)),
        floats(test_mrode_2014.RELATED_2_1),
    )
    yield MRODE.check(
        "the same, the three sires of p. 32",
        2 * np.array(floats(kinship(table, ["1", "4", "5"]))),
        floats(test_mrode_2014.RELATED_SIRES),
    )
    yield MRODE.check("inbreeding of animal 5", float(inbreeding(table)["5"]), 0.125)
    yield MRODE_MEMORY.check(
        "inverse of the relationships of Table 2.1, with inbreeding",
        floats(by_descent(table)),
        floats(test_mrode_2014.INVERSE_2_1),
        tolerance=5.1e-5,
        near=Near.PRINTED,
    )
    for example, (rows, digits, matrix) in test_mrode_2014.PRINTED_INVERSES.items():
        yield MRODE.check(
            f"inverse of the relationships of eight animals, {example}",
            floats(by_descent(rows)),
            floats(matrix),
            tolerance=0.501 * 10**-digits,
            near=Near.PRINTED,
        )
    eight = test_christensen_kvl.EIGHT
    yield KVL.check(
        "relationships of eight animals (7.5), whole matrix",
        floats(relationship(eight)),
        floats(test_christensen_kvl.EIGHT_RELATED),
    )
    yield KVL.check(
        "their inverse, whole matrix",
        floats(by_descent(eight)),
        floats(test_christensen_kvl.EIGHT_INVERSE),
    )
    yield Origin(source="published/test_kinship2_package.py").check(
        "kinship of nine animals of a package's own tests, whole matrix",
        floats(kinship(test_kinship2_package.PEDIGREE)),
        floats(test_kinship2_package.AUTOSOMAL),
    )


def _relatives() -> Iterator[Check]:
    table = test_lange_2003.TABLE_5_1
    yield Origin(source="published/test_lange_2003.py").check(
        f"kinship of {', '.join(table)} (Table 5.1)",
        [float(kinship(test_lange_2003.KIN, pair[:2])[0][1]) for pair in table.values()],
        [float(Fraction(pair[2])) for pair in table.values()],
    )
    matrix = kinship_matrix(test_henderson_1988.PEN)
    related = test_henderson_1988.RELATED
    yield UNCERTAIN.check(
        "relationships in a pen of two cocks of which either may be the sire",
        [2 * matrix.between(first, second) for first, second, _ in related],
        [float(Fraction(value)) for *_, value in related],
    )
    for count, exact in test_alvarez_2009.EXACT.items():
        found = inbreeding(test_alvarez_2009.persons(count))
        yield Origin(source="published/test_alvarez_2009.py", standing=Standing.OWN).check(
            f"inbreeding of kings, royal pedigree of {count} persons",
            [float(found[name]) for name in exact],
            [float(Fraction(value)) for value in exact.values()],
        )


def _on_the_z() -> Iterator[Check]:
    yield Origin(source="published/test_kinship2_package.py").check(
        "kinship on the Z of nine animals: the X of the same pedigree with the sexes exchanged",
        floats(mirrored_z_kinship(test_kinship2_package.PEDIGREE, test_kinship2_package.MALES)),
        floats(test_kinship2_package.ON_THE_X),
    )
    matrix = mirrored_z_kinship(test_mcpeek_x.FAMILY, ["F", "S"])
    kin = test_mcpeek_x.ON_THE_X
    yield Origin(source="published/test_mcpeek_x.py").check(
        f"on the X, mirrored to the Z: {', '.join(kin)}",
        [float(matrix[first][second]) for first, second, _ in kin.values()],
        [float(Fraction(value)) for *_, value in kin.values()],
    )


def _series() -> Iterator[Check]:
    for system, (scheme, printed) in test_regular_inbreeding.SERIES.items():
        found = test_regular_inbreeding.by_generation(scheme)
        yield REGULAR.check(
            f"inbreeding over ten generations, {system}",
            list(map(float, found)),
            list(map(float, test_regular_inbreeding.decimals(printed))),
            tolerance=5.1e-5,
            near=Near.PRINTED,
        )
    for pens, printed in test_christensen_kvl.ONE_PEN_ON.items():
        yield KVL_OWN.check(
            f"inbreeding by generation, cocks moved one pen on, {pens} pens",
            _one_pen_on(pens),
            _fractions(printed),
            tolerance=5.1e-5,
            near=Near.PRINTED,
        )


def _one_pen_on(pens: int) -> list[float]:
    generations = len(test_christensen_kvl.ONE_PEN_ON[pens].split())
    found = inbreeding(test_christensen_kvl.rotation(pens, generations))
    return [float(found[f"H{born}.0"]) for born in range(1, generations + 1)]


def _fractions(printed: str) -> list[float]:
    return [float(Fraction(one)) for one in printed.split()]


def _flocks() -> Iterator[Check]:
    sizes = test_wright_1931.PRINTED
    yield Origin(source="published/test_wright_1931.py").check(
        "effective size of 10 cocks and 10 hens, 1 and 10, 100 and 100,000",
        [effective_size_by_sexes(cocks, hens) for cocks, hens, *_ in sizes],
        [size for _, _, size, _ in sizes],
        tolerance=[max(rounded, 1e-9) for *_, rounded in sizes],
        near=Near.PRINTED,
        unit="birds",
    )
    expected, found = [], []
    for sibs, genomes in test_lacy_1989.BY_KINSHIP:
        rows, names = test_lacy_1989.family(sibs)
        diversity = gene_diversity(kinship_matrix(pedigree_of(rows), names), names)
        found.append(diversity.genome_equivalents if diversity else float("nan"))
        expected.append(float(Fraction(genomes)))
    yield Origin(source="published/test_lacy_1989.py", standing=Standing.OWN).check(
        "founder genomes left in one to four full sibs, by mean kinship", found, expected
    )


def _other_program() -> Iterator[Check]:
    # here: it takes seconds to be imported and compiled
    import sgkit

    from tests.oracle.test_sgkit import dataset, random_parents

    peer = Origin(source="oracle/test_sgkit.py", standing=Standing.RUN)
    flock = simulated_flock(1000, seed=4)
    theirs = sgkit.pedigree_kinship(dataset(flock.sires, flock.dams)).stat_pedigree_kinship.values
    yield peer.check(
        "kinship of 1,000 birds of a simulated flock of 25 seasons",
        kinship_of(flock.ancestry, flock.ancestry.birds),
        theirs,
    )
    yield peer.check("their inbreeding", inbreeding_of(flock.ancestry), 2 * theirs.diagonal() - 1)
    sires, dams = random_parents(1)
    half = ancestry_of_parents(sires, dams)
    yield peer.check(
        "kinship of 200 birds, of many of which one parent is not known",
        kinship_of(half, half.birds),
        sgkit.pedigree_kinship(
            dataset(sires, dams), method="diploid", allow_half_founders=True
        ).stat_pedigree_kinship.values,
    )


def _figure_of_systems() -> Figure:
    series = test_regular_inbreeding.SERIES
    names = ("full sibs", "cock by half sisters", "back to one non-inbred cock")
    return by_generation(
        "systems",
        "Inbreeding in systems of close mating",
        (
            "Dots are what the engine says of the pedigree, broken lines for the published "
            "series. Brother by sister rises fastest; back to one cock, it levels off at a half."
        ),
        {name: list(map(float, _own_series(name))) for name in names},
        {
            name: list(map(float, test_regular_inbreeding.decimals(series[name][1])))
            for name in names
        },
        counted="inbreeding",
    )


def _own_series(name: str) -> list[Fraction]:
    return test_regular_inbreeding.by_generation(test_regular_inbreeding.SERIES[name][0])


def _figure_of_pens() -> Figure:
    pens = test_christensen_kvl.ONE_PEN_ON
    return by_generation(
        "pens",
        "Inbreeding where each cock moves one pen on",
        (
            "One pair a pen, the son of each pen in the next one. The more pens, the later and the "
            "slower inbreeding rises."
        ),
        {f"{count} pens": _one_pen_on(count) for count in (2, 3, 5)},
        {f"{count} pens": _fractions(pens[count]) for count in (2, 3, 5)},
        counted="inbreeding",
        first=1,
    )
