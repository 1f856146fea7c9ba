"""The chance that a chick is wanted, given its looks, against every genotype it may have."""

from __future__ import annotations

import random
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.first_look import Chances, shows_early
from matchmaker.genetics.genotypes.chicks import ChickClasses
from matchmaker.genetics.loci.locus import Dominance, Locus
from matchmaker.pairs.chances import ChickTable
from matchmaker.pairs.crossings import Crossing, Purpose
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

HENS, COCKS = ("H0", "H1", "H2"), ("C0", "C1")
SYMBOLS = ("A", "B", "C")
DOMINANCES: Sequence[Dominance] = ("dominant", "recessive", "incomplete")


def locus_at_random(symbol: str, rng: random.Random, *, z_linked: bool) -> Locus:
    dies = rng.choice([(), (), (2,)])
    return Locus(
        symbol=symbol,
        name=symbol,
        z_linked=z_linked,
        dominance=rng.choice(DOMINANCES),
        shows_at_days=rng.choice([1, 40, 150]),
        shown_by=rng.choice(["both", "both", "hen", "cock"]),
        lethal=dies,
        dies=dies,
    )


def possible(locus: Locus, sex: Sex) -> tuple[int, ...]:
    return (0, 1) if locus.z_linked and sex is Sex.HEN else (0, 1, 2)


def chances_at_random(
    rng: np.random.Generator, loci: Sequence[Locus], sex: Sex
) -> NDArray[np.float64]:
    """Copies at these loci, (hens, cocks, 3, ...), some classes being impossible."""
    shape = (3,) * len(loci)
    found = np.zeros((len(HENS), len(COCKS), *shape))
    for copies in product(*(possible(locus, sex) for locus in loci)):
        found[(..., *copies)] = rng.random((len(HENS), len(COCKS))) * (rng.random() < 0.8)
    found[..., *(0,) * len(loci)] += 0.01
    total: NDArray[np.float64] = found / found.reshape(*found.shape[:2], -1).sum(-1).reshape(
        *found.shape[:2], *(1,) * len(loci)
    )
    return total


def table_at_random(seed: int) -> ChickTable:
    """Three loci, the third alone on the Z, the first two linked in every other table."""
    draw, rng = random.Random(seed), np.random.default_rng(seed)  # noqa: S311
    loci = {
        symbol: locus_at_random(symbol, draw, z_linked=symbol == "C" and seed % 3 > 0)
        for symbol in SYMBOLS
    }
    alone = {
        symbol: {sex: chances_at_random(rng, [locus], sex) for sex in Sex}
        for symbol, locus in loci.items()
    }
    pair = [loci["A"], loci["B"]]
    linked = {("A", "B"): {sex: chances_at_random(rng, pair, sex) for sex in Sex}}
    return ChickTable(
        hens=HENS,
        cocks=COCKS,
        loci=loci,
        joints={},
        classes={
            symbol: ChickClasses(sons=of[Sex.COCK], daughters=of[Sex.HEN])
            for symbol, of in alone.items()
        },
        lethal={},
        linked=linked if seed % 2 else {},
        sampled=frozenset(),
    )


def row_at_random(seed: int) -> Crossing:
    draw = random.Random(seed)  # noqa: S311
    some = [(0,), (1,), (2,), (0, 1), (1, 2)]
    return Crossing(
        name="row",
        hens=("Pure",),
        cocks=("Alder",),
        chicks="Alder",
        purpose=Purpose.BACKCROSS,
        keep={
            sex: {symbol: draw.choice(some) for symbol in SYMBOLS if draw.random() < 0.6}
            for sex in Sex
        },
        sexes=draw.choice([(Sex.COCK, Sex.HEN), (Sex.COCK, Sex.HEN), (Sex.HEN,)]),
    )


def looks(table: ChickTable, copies: Mapping[str, int], sex: Sex) -> list[object]:
    """What a living chick of eight weeks shows at each locus."""
    return [
        locus.phenotype(copies[symbol], sex)
        if locus.shows_at_days <= 56 and locus.shown_by in ("both", sex)
        else None
        for symbol, locus in table.loci.items()
    ]


def by_enumeration(
    table: ChickTable, row: Crossing, parents: tuple[tuple[str, ...], str], sex: Sex, own: list[int]
) -> float:
    """Bayes over dams and genotypes: of living chicks that look so, the part that is wanted."""
    seen = looks(table, dict(zip(SYMBOLS, own, strict=True)), sex)
    keep = row.keep[sex]
    used = {symbol for symbol in SYMBOLS if symbol in keep}
    if table.linked and used & {"A", "B"}:
        used |= {"A", "B"}
    alike = wanted = 0.0
    for hen in parents[0]:
        at = (HENS.index(hen), COCKS.index(parents[1]))
        for copies in product(*(possible(table.loci[symbol], sex) for symbol in SYMBOLS)):
            of = dict(zip(SYMBOLS, copies, strict=True))
            if any(copies[SYMBOLS.index(symbol)] for symbol in set(SYMBOLS) - used):
                continue  # counted once, whatever it has where the row does not ask
            chance, left = 1.0, set(used)
            if table.linked and used >= {"A", "B"}:
                chance = table.linked["A", "B"][sex][(*at, of["A"], of["B"])]
                left -= {"A", "B"}
            for symbol in left:
                chance *= table.of(symbol, sex)[(*at, of[symbol])]
            lives = all(
                table.loci[symbol].dose(of[symbol], sex) not in table.loci[symbol].dies
                for symbol in used
            )
            same = looks(table, of, sex)
            if not lives or any(
                same[SYMBOLS.index(symbol)] != seen[SYMBOLS.index(symbol)] for symbol in used
            ):
                continue
            alike += chance
            wanted += chance * all(of[symbol] in kept for symbol, kept in keep.items())
    return wanted / alike if alike else 0.0


def test_chances_are_those_of_bayes() -> None:
    between = 0
    for seed in range(12):
        table, row = table_at_random(seed), row_at_random(seed)
        chances = Chances(table)
        for sex, hens in product(row.sexes, (("H0",), ("H2", "H1"), HENS)):
            for own in product(*(possible(table.loci[symbol], sex) for symbol in SYMBOLS)):
                found = chances.of(row, (hens, "C1"), sex, dict(zip(SYMBOLS, own, strict=True)))
                expected = by_enumeration(table, row, (hens, "C1"), sex, list(own))
                assert found == pytest.approx(expected, abs=1e-12)
                between += 0 < found < 1
    assert between > 100


def test_a_chick_of_a_sex_that_the_row_does_not_keep_has_no_chance() -> None:
    hens_only = next(row for row in map(row_at_random, range(20)) if row.sexes == (Sex.HEN,))
    copies = dict.fromkeys(SYMBOLS, 1)
    assert Chances(table_at_random(1)).of(hens_only, (HENS, "C0"), Sex.COCK, copies) == 0


def test_nothing_of_a_series_or_of_what_shows_late_is_seen() -> None:
    early = Locus(symbol="A", name="A", shows_at_days=10)
    assert shows_early(early, Sex.HEN)
    assert not shows_early(Locus(symbol="A", name="A", shows_at_days=57), Sex.HEN)
    assert not shows_early(Locus(symbol="A", name="A", shown_by="hen"), Sex.COCK)
