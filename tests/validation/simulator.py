"""The simulation beside closed forms, another simulator, and the books of simulated seasons."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.ahead.chicks import hatch
from matchmaker.genetics.drop.fixed import drop_pedigree
from matchmaker.genetics.drop.grid import Grid
from matchmaker.genetics.drop.reading import inbreeding, kinship
from tests.ahead_birds import nature, unrelated
from tests.ahead_flocks import played, watched
from tests.builders import judged
from tests.published import test_backcross_series, test_christensen_kvl
from tests.published import test_gene_drop_inbreeding as dropped
from tests.validation.checks import Effort, Near, Origin, Section, Standing, mean_and_error
from tests.validation.plots import about, against, by_generation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Pedigree
    from tests.ahead_flocks import Season
    from tests.validation.checks import Check, Figure

    Matrix = NDArray[np.float64]

CLOSED = Origin(source="published/test_gene_drop_inbreeding.py", standing=Standing.OWN)
FAMILIES = Origin(source="unit/test_ahead_chicks.py", standing=Standing.MEMORY)
SIMULATOR = Origin(source="oracle/test_drop_msprime.py", standing=Standing.RUN)
BOOKS = Origin(source="validation/simulator.py", standing=Standing.SECOND)


@dataclass(frozen=True, kw_only=True)
class Springs:
    """Mean inbreeding of the young birds of each spring, a row for each replicate.

    ``true`` is what the simulated birds have, ``books`` what their pedigree in the simulated books
    lets expect.
    """

    true: Matrix
    books: Matrix


def section(effort: Effort) -> Section:
    """Genes dropped, chicks hatched, seasons played."""
    return Section(
        key="simulator",
        title="The simulation of coming seasons",
        about="Looking ahead plays the coming seasons gene by gene. Here genes are dropped through "
        "systems of mating whose inbreeding is known exactly, chicks vary as theory says, pairs "
        "are as alike as another simulator makes them, and after played seasons the birds are as "
        "inbred as their pedigree says they should be on average.",
        checks=(
            *_by_generation(),
            *_rates(effort),
            *_families(),
            *_seasons(effort),
            *(_other_simulator() if effort.peers else ()),
        ),
        figures=(
            _figure_of_generations(),
            *((_figure_of_pairs(),) if effort.peers else ()),
            _figure_of_seasons(effort),
        ),
    )


def _known() -> Iterator[tuple[str, tuple[Matrix, Matrix], list[float]]]:
    """System, dropped means and errors by generation, and what they should be."""
    full = _fractions(dropped.FULL_SIBS)
    yield "brother by sister", _dropped("sibs", 2, len(full)), full
    for birds, printed in dropped.CIRCLES.items():
        series = _fractions(printed)
        yield f"half sibs in a circle of {birds}", _dropped("circle", birds, len(series)), series
    for pens in (3, 5):
        series = _fractions(test_christensen_kvl.ONE_PEN_ON[pens])
        yield f"cocks moved one pen on, {pens} pens", _dropped("pens", pens, len(series)), series
    cycle = _fractions(dropped.CYCLE_OF_FOUR)
    yield "cyclical mating of four families", _dropped("cycle", 4, len(cycle)), cycle


@cache
def _dropped(system: str, size: int, generations: int) -> tuple[Matrix, Matrix]:
    scheme, birds = {
        "sibs": (dropped.brother_and_sister, size),
        "circle": (dropped.in_a_circle(size), size),
        "pens": (dropped.one_pen_on(size), 2 * size),
        "cycle": (dropped.in_a_cycle(size), 2 * size),
    }[system]
    return dropped.by_generation(scheme, birds, generations)


def _fractions(printed: str) -> list[float]:
    return [float(Fraction(one)) for one in printed.split()]


def _by_generation() -> Iterator[Check]:
    for system, (mean, error), expected in _known():
        yield CLOSED.check(
            f"genes dropped, inbreeding by generation: {system}",
            mean,
            expected,
            tolerance=5 * error + 6e-5,
            near=Near.CHANCE,
        )


def _rates(effort: Effort) -> Iterator[Check]:
    memory = Origin(source=CLOSED.source, standing=Standing.MEMORY)
    for cocks, hens, rough in dropped.AT_RANDOM if effort.peers else dropped.AT_RANDOM[:1]:
        exact = dropped.exact_rate(rough)
        yield CLOSED.check(
            f"rise of inbreeding a generation, {cocks} cocks and {hens} hens drawn at random",
            dropped.rate_at_random(cocks, hens),
            exact,
            tolerance=dropped.CLOSE * exact,
            near=Near.CHANCE,
        )
    for cocks, each, rate in dropped.EACH_A_SON if effort.peers else ():
        yield memory.check(
            f"the same, each of {cocks} cocks leaves a son, each of his hens ({each}) a daughter",
            dropped.rate_of_equal_families(cocks, each),
            rate,
            tolerance=dropped.ROUGH * rate,
            near=Near.APPROXIMATE,
        )


def _families() -> Iterator[Check]:
    many = 20_000
    of, rng = nature(), np.random.default_rng(21)
    sire = unrelated(1, of, rng)
    for labels, expected, who in (((0, 1), 2.0, "not inbred"), ((1, 1), 1.0, "dam fully inbred")):
        dam = unrelated(2, of, rng, labels=labels).take(np.array([1]))
        pair = sire.joined(dam)
        born = hatch(pair, of, np.zeros(many, dtype=int), np.ones(many, dtype=int), rng)
        squares, error = mean_and_error((born.values[:, 0] - pair.values[:, 0].mean()) ** 2)
        yield FAMILIES.check(
            f"variance of breeding values in a family, parents {who}: ½ σ² (1 − F), σ² = 4",
            squares,
            expected,
            tolerance=5 * error,
            near=Near.CHANCE,
        )
        hens, error = mean_and_error(born.hens)
        yield Origin(source=FAMILIES.source, standing=Standing.OWN).check(
            "share of hens among its chicks", hens, 0.5, tolerance=5 * error, near=Near.CHANCE
        )


def _seasons(effort: Effort) -> Iterator[Check]:
    springs = _springs(effort.seasons, effort.played)
    for spring in range(effort.seasons):
        true, books = springs.true[:, spring], springs.books[:, spring]
        _, error = mean_and_error(true - books)
        yield BOOKS.check(
            f"spring {spring + 1} of {effort.seasons} played {effort.played} times: mean "
            "inbreeding of the young birds, true and by the simulated books",
            true.mean(),
            books.mean(),
            tolerance=5 * error + 1e-9,
            near=Near.CHANCE,
        )


@cache
def _springs(seasons: int, replicates: int) -> Springs:
    """Seasons of a flock played as ``ahead`` plays them, planned anew every spring."""
    series = test_backcross_series
    with tempfile.TemporaryDirectory() as folder:
        table = judged(
            Path(folder) / "flock", series.FLOCK, series.SETTINGS, seen=series.SEEN,
            pens=series.KNOWN,
        )  # fmt: skip
        player = watched(table, ("plan",), seasons=seasons, replicates=replicates, ready=1.0)
        rows = [
            [_young(season) for season in played(player, replicate)[1]]
            for replicate in range(replicates)
        ]
    found = np.array(rows)
    return Springs(true=found[:, :, 0], books=found[:, :, 1])


def _young(season: Season) -> tuple[float, float]:
    """Mean inbreeding of the birds hatched in a season: true, and by the books."""
    of, birds = season.fate.nature, season.grown.birds
    new = [band not in season.world.bands for band in season.grown.bands]
    by_books = tabular(season.spring.study.flock.pedigree)
    bands = [band for band, is_new in zip(season.grown.bands, new, strict=True) if is_new]
    true = inbreeding(of.grid, birds.bits)[np.array(new)]
    return float(true.mean()), float(np.mean([by_books[band] for band in bands]))


def tabular(pedigree: Pedigree) -> dict[str, float]:
    """Inbreeding of all birds by the tabular method, parents certain, founders strangers."""
    first, size = pedigree.first_bird, len(pedigree.birds)
    table = np.zeros((size + 1, size + 1))  # the last row and column are those of a stranger
    found = {}
    for at, (bird, sires, dams) in enumerate(
        zip(pedigree.birds, pedigree.sires, pedigree.dams, strict=True)
    ):
        ((sire, _),), ((dam, _),) = sires, dams
        one, other = (size if node < first else node - first for node in (sire, dam))
        table[at, :at] = table[:at, at] = (table[one, :at] + table[other, :at]) / 2
        found[bird] = float(table[one, other])
        table[at, at] = (1 + found[bird]) / 2
    return found


@cache
def _pairs() -> tuple[Matrix, Matrix]:
    """How alike pairs of a flock's last season are, in each replicate: ours and msprime's."""
    # here: it takes a second to be imported
    import msprime

    from tests.oracle import test_drop_msprime as peer

    replicates = msprime.sim_ancestry(
        initial_state=peer.builder().finalise(peer.SITES),
        model="fixed_pedigree",
        recombination_rate=peer.MORGANS / peer.SITES,
        num_replicates=peer.REPLICATES,
        random_seed=7,
    )
    theirs = np.stack([peer.alike(trees) for trees in replicates])
    grid = Grid.of({"1": 100 * peer.MORGANS}, spacing=2.5)
    rng = np.random.default_rng(7)
    sires, dams = peer.FLOCK.sires, peer.FLOCK.dams
    bits = drop_pedigree(grid, sires, dams, 4 * peer.REPLICATES, rng)[:, peer.LAST]
    return kinship(grid, bits[:, :, None], bits[:, None]), theirs


def _other_simulator() -> Iterator[Check]:
    ours, theirs = _pairs()
    for power, what in ((1, "mean"), (2, "mean square")):
        own, other = ours**power, theirs**power
        error = np.sqrt(own.var(axis=0) / len(own) + other.var(axis=0) / len(other))
        yield SIMULATOR.check(
            f"how alike pairs of the last of four seasons are, {what} over replicates, beside "
            "msprime on the same pedigree",
            own.mean(axis=0),
            other.mean(axis=0),
            tolerance=5 * error + 1e-12,
            near=Near.CHANCE,
        )


def _figure_of_generations() -> Figure:
    shown = [one for one in _known() if "circle of 4" not in one[0]]
    return by_generation(
        "dropped",
        "Inbreeding of genes dropped, by generation",
        (
            "Dots are means over 1,500 drops with five standard errors to either side, broken "
            "lines what exact arithmetic says."
        ),
        {system: list(mean) for system, (mean, _), _ in shown},
        {system: expected for system, _, expected in shown},
        counted="inbreeding",
        first=1,
        ranges={system: about(list(mean), list(error)) for system, (mean, error), _ in shown},
    )


def _figure_of_pairs() -> Figure:
    ours, theirs = _pairs()
    own, other = ours.mean(axis=0), theirs.mean(axis=0)
    every = np.argwhere(np.triu(np.ones_like(own), k=1))
    pairs = [(f"{a + 1} and {b + 1}", float(other[a, b]), float(own[a, b])) for a, b in every]
    return against(
        "pairs",
        "Kinship of pairs of one season, by two simulators",
        (
            "Each dot is a pair of birds: our mean over 1,200 drops above msprime's over 300. "
            "What they scatter is chance, and pairs of the same families share it."
        ),
        pairs,
        counted="kinship",
        digits=4,
        heads=("pair", "msprime", "ours"),
    )


def _figure_of_seasons(effort: Effort) -> Figure:
    springs = _springs(effort.seasons, effort.played)
    true = springs.true.mean(axis=0).tolist()
    errors = [
        mean_and_error(springs.true[:, at] - springs.books[:, at])[1]
        for at in range(effort.seasons)
    ]
    return by_generation(
        "seasons",
        "Inbreeding of young birds, season by season",
        (
            f"Seasons played {effort.played} times, planned anew every spring. Dots: what the "
            "simulated birds truly have, with five standard errors; broken line: what their "
            "pedigree in the simulated books lets expect."
        ),
        {"young birds": true},
        {"young birds": list(springs.books.mean(axis=0))},
        counted="inbreeding",
        x_title="spring",
        first=1,
        ranges={"young birds": about(true, errors)},
    )
