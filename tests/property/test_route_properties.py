"""Laws of routes over loci of every kind."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.locus import Locus
from matchmaker.route.schemes import RESTRICTIONS
from matchmaker.route.search import Search
from matchmaker.route.steps import route_of
from matchmaker.route.telling import cells_of
from matchmaker.tables.records import Sex
from tests.route_helpers import BOTH, linked, task_of

if TYPE_CHECKING:
    from matchmaker.route.task import Allowed, Task

LOCI = st.builds(
    Locus,
    symbol=st.just("X"),
    name=st.just("Some trait"),
    z_linked=st.booleans(),
    dominance=st.sampled_from(["dominant", "recessive", "incomplete"]),
    shown_by=st.sampled_from(["both", "hen", "cock"]),
    shows_at_days=st.sampled_from([1, 180, 400]),
    gene_status=st.sampled_from(["causal", "unknown"]),
)
DONORS = st.sampled_from([BOTH, (Sex.COCK,), (Sex.HEN,)])


def quickest(task: Task, allowed: Allowed) -> float:
    """Seasons of the quickest route; without end where there is none."""
    found = Search(task).find(allowed, slack=0)
    return found[0].season if found else float("inf")


@settings(max_examples=25, deadline=None)
@given(LOCI, DONORS, st.sampled_from([1, 2]), st.integers(1, 2))
def test_to_be_allowed_more_never_takes_longer(
    locus: Locus, donors: tuple[Sex, ...], copies: int, times: int
) -> None:
    task = task_of({"X": copies}, loci={"X": locus}, donors=donors, backcrosses=times)
    seasons = {name: quickest(task, allowed) for name, allowed in RESTRICTIONS.items()}
    assert seasons["any"] == min(seasons.values())
    assert seasons["no-dna"] <= seasons["looks"] <= seasons["sure"]


@settings(max_examples=20, deadline=None)
@given(LOCI, DONORS, st.sampled_from([1, 2]))
def test_more_backcrosses_never_take_fewer_seasons(
    locus: Locus, donors: tuple[Sex, ...], copies: int
) -> None:
    found = [
        quickest(
            task_of({"X": copies}, loci={"X": locus}, donors=donors, backcrosses=times),
            RESTRICTIONS["any"],
        )
        for times in range(1, 4)
    ]
    assert found == sorted(found)


@settings(max_examples=15, deadline=None)
@given(LOCI, st.integers(1, 6))
def test_more_birds_never_need_fewer_chicks(locus: Locus, birds: int) -> None:
    task = task_of({"X": 2}, loci={"X": locus}, backcrosses=1, birds=birds)
    few, more = (
        [route_of(one, found) for found in Search(one).find(slack=0)][:1]
        for one in (task, replace(task, birds=birds + 1))
    )
    assert bool(few) is bool(more)
    assert all(a.chicks <= b.chicks for a, b in zip(few, more, strict=True))


@settings(max_examples=10, deadline=None)
@given(st.sampled_from(["O", "R", "lav", "Bl", "choc", "S"]), st.sampled_from(["P", "Na", "h"]))
def test_the_order_of_the_loci_does_not_matter(one: str, two: str) -> None:
    loci = {symbol: replace(catalogue()[symbol], linkages=()) for symbol in (one, two)}
    turned = {symbol: loci[symbol] for symbol in (two, one)}
    wanted = {one: 1, two: 1}
    first, second = (
        Search(task_of(wanted, loci=order, backcrosses=1)).find(slack=0) for order in (loci, turned)
    )
    assert [(f.season, f.chicks) for f in first] == [(f.season, f.chicks) for f in second]


@settings(max_examples=25, deadline=None)
@given(LOCI, st.sampled_from(list(Sex)), st.floats(0.05, 1.0), st.floats(0.0, 0.2))
def test_classes_told_apart_share_out_all_chicks(
    locus: Locus, sex: Sex, penetrance: float, error: float
) -> None:
    blurred = replace(locus, penetrance=penetrance, error=error)
    task = task_of({"X": 1}, loci={"X": blurred})
    cock, hen = (task.genome.founders(one, [Fraction(1, 3)]) for one in (Sex.COCK, Sex.HEN))
    cells = cells_of(task, task.genome.chicks(cock, hen, sex), sex)
    for telling in {cell.telling for cell in cells if cell.test is None}:
        same = [cell for cell in cells if cell.telling is telling]
        # Penetrance and error are taken to a millionth.
        assert abs(float(sum(cell.chance for cell in same)) - 1) < 1e-5
        assert all(sum(p for _, p in cell.mix) == 1 for cell in same)


@settings(max_examples=12, deadline=None)
@given(st.sampled_from([0.01, 0.04, 0.2, 0.5]), st.integers(1, 2))
def test_every_step_of_a_route_can_be_walked(parted: float, times: int) -> None:
    task = task_of({"O": 2, "P": 0}, loci=linked("O", "P", parted), backcrosses=times)
    for found in Search(task).find(slack=0):
        route = route_of(task, found)
        for step in route.steps:
            assert max(step.cock.season, step.hen.season) < step.season <= route.seasons
            for kept in step.kept:
                given_chicks = dict(step.chicks[kept.way.sex])
                assert all(given_chicks[state] > 0 for state, _ in kept.cell.mix)
                assert kept.way.season == step.season + kept.cell.delay
        for way in (found.cock, found.hen):
            assert task.reached(way.mix, way.sex)
            assert way.share >= task.share
