"""What the search finds on its own, and what it must not find."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.shares.segment import place_of, side_length
from matchmaker.route.numbers import both_needed
from matchmaker.route.pitfalls import Why, pitfalls
from matchmaker.route.schemes import RESTRICTIONS, all_schemes
from matchmaker.route.search import Search
from matchmaker.route.steps import broken_off, broken_side, route_of
from matchmaker.route.task import EVERY_WAY, Allowed, Task, Telling
from matchmaker.tables.records import Sex
from tests.route_helpers import linked, story, task_of


def found_route(task: Task, allowed: Allowed, at: int = 0) -> list[tuple[int, str, str, str, str]]:
    """The story of the quickest route, or of a later one."""
    return story(route_of(task, Search(task).find(allowed)[at]))


class TestZLinkedRecessive:
    """Handbook of the trade, scheme of a recessive on the Z (common practice, no source)."""

    def test_the_alternating_cycle_is_found(self) -> None:
        task = task_of({"choc": 2}, donors=[Sex.HEN], backcrosses=2)
        assert found_route(task, RESTRICTIONS["sure"]) == [
            (1, "recurrent", "donor", "cock", "any"),
            (2, "carrier", "recurrent", "hen", "sight"),
            (3, "recurrent", "carrier", "cock", "any"),
            (4, "carrier", "recurrent", "hen", "sight"),
            (5, "carrier", "carrier", "cock", "sight"),
        ]

    def test_the_cycle_needs_no_test_and_the_handbook_s_chicks(self) -> None:
        task = task_of({"choc": 2}, donors=[Sex.HEN], backcrosses=2)
        route = route_of(task, Search(task).find(RESTRICTIONS["sure"])[0])
        assert route.dna_tests == route.test_chicks == 0
        rear = [(step.one.rear[0.95], step.one.rear[0.99]) for step in route.steps]
        assert rear == [(5, 7), (11, 17), (5, 7), (11, 17), (11, 17)]
        assert route.steps[1].working.rear == {0.95: 29, 0.99: 37}

    def test_hens_cannot_carry_it_on(self) -> None:
        task = task_of({"choc": 2}, donors=[Sex.HEN])
        assert Search(task).find(RESTRICTIONS["hens"]) == []

    def test_the_naive_plan_has_chance_zero(self) -> None:
        task = task_of({"choc": 2}, donors=[Sex.HEN])
        naive = [one for one in pitfalls(task) if one.why is Why.HEN_GIVES_Z_TO_SONS]
        assert [(one.sex, float(one.chance)) for one in naive] == [(Sex.HEN, 0.0)]

    def test_meioses_in_hens_do_not_cut_the_piece(self) -> None:
        task = task_of({"choc": 2}, donors=[Sex.HEN], backcrosses=2)
        route = route_of(task, Search(task).find(RESTRICTIONS["sure"])[0])
        pieces = [step.kept[0].piece["choc"] for step in route.steps]
        assert pieces[0] == pytest.approx(200)
        assert pieces[1] == pieces[2] < pieces[0]
        assert pieces[3] < pieces[2]


class TestPieceBesideABrokenNeighbour:
    """Where a neighbour was parted from the gene, the piece ends between the two."""

    def test_the_piece_ends_before_the_neighbour(self) -> None:
        task = task_of({"O": 2, "P": 0}, loci=linked("O", "P", 0.04), backcrosses=2)
        route = route_of(task, Search(task).find(RESTRICTIONS["hens"])[0])
        pieces = [step.kept[0].piece["O"] for step in route.steps]
        arm = place_of(catalogue()["O"]).arms[0]
        assert pieces[0] == pytest.approx(2 * arm)
        assert [str(kept.cell.labels[1]) for kept in route.steps[1].kept] == ["hidden"]
        assert side_length(1, arm) < pieces[1] < side_length(1, arm) + 4
        assert side_length(2, arm) < pieces[2] < side_length(2, arm) + 4

    def test_as_crossovers_thrown_by_hand_have_it(self) -> None:
        thrown = np.random.default_rng(4).exponential(100.0, size=(40_000, 4))
        broken = thrown[thrown[:, 0] < 30.0]
        assert broken_side(4, 30.0) == pytest.approx(broken.min(axis=1).mean(), abs=0.5)

    def test_it_is_whole_where_the_donor_had_no_neighbour(self) -> None:
        task = task_of({"O": 2, "P": 0}, loci=linked("O", "P", 0.04), backcrosses=1)
        free = ((((1, 0), (1, 0)),), Fraction(1))
        sources = tuple(
            replace(one, mix=(free,)) if one.share == 0 else one for one in task.sources
        )
        apart = replace(task, sources=sources)
        assert broken_off(apart, (free,), 0) is None
        assert broken_off(task, (free,), 0) == pytest.approx(4.17, abs=0.01)


class TestBirdsOnTrial:
    def test_eggs_are_set_of_all_of_them(self) -> None:
        """Half the cocks carry: of two eggs one is a proved cock's (lavender, test matings)."""
        task = task_of({"lav": 2}, backcrosses=2)
        found = Search(task).find(Allowed(tellings=EVERY_WAY - {Telling.DNA}))
        (step,) = [
            step
            for step in route_of(task, found[0]).steps
            if step.cock.later and step.cock.cell is not None and step.hen.recurrent
        ][:1]
        assert step.cock.cell is not None
        assert step.on_trial
        assert step.cock.cell.chance / step.cock.cell.tested == Fraction(1, 2)
        sons, daughters = (
            float(kept.cell.chance * task.carrying(kept.cell.mix) / 2) for kept in step.kept
        )
        half = task.reared / 2
        assert step.working.set_[0.95] == both_needed(4, sons * half, daughters * half, 0.95)
        assert step.working.rear[0.95] == both_needed(4, sons, daughters, 0.95)


class TestAutosomalDominant:
    """A dominant seen in both sexes at hatch."""

    def test_carriers_to_the_end_then_proof(self) -> None:
        task = task_of({"P": 2}, backcrosses=1)
        allowed = Allowed(tellings=EVERY_WAY - {Telling.DNA})
        told = found_route(task, allowed)
        assert [one[0] for one in told] == [1, 2, 2, 3, 3]
        assert {one[4] for one in told[1:3]} == {"sight"}
        assert {one[4] for one in told[3:]} == {"proof"}
        found = Search(task).find(allowed)[0]
        tests = [kept.cell.test for kept in route_of(task, found).steps[-1].kept]
        assert [(one and one.chicks(0.95), one and one.chicks(0.99)) for one in tests] == [
            (6, 8),
            (6, 8),
        ]
        assert found.season == 4

    def test_looks_alone_cannot_finish_it(self) -> None:
        task = task_of({"P": 2}, backcrosses=1)
        assert Search(task).find(RESTRICTIONS["looks"]) == []

    def test_an_incomplete_dominant_needs_no_proof(self) -> None:
        task = task_of({"Na": 2}, backcrosses=1)
        assert found_route(task, RESTRICTIONS["looks"])[-1][4] == "sight"


class TestHenLimited:
    """Blue eggs: hens show them at lay, cocks never."""

    def test_hens_carry_by_looks_and_cocks_by_dna(self) -> None:
        task = task_of({"O": 2}, backcrosses=2)
        hens = found_route(task, RESTRICTIONS["hens"])
        assert {one[3:] for one in hens if one[0] == 2} == {("hen", "sight")}
        cocks = found_route(task, RESTRICTIONS["cocks"])
        assert [one[3:] for one in cocks if one[0] == 2] == [("cock", "dna")]

    def test_without_dna_cocks_are_proved_by_daughters(self) -> None:
        task = task_of({"O": 2}, backcrosses=1)
        found = Search(task).find(RESTRICTIONS["no-dna"])[0]
        kept = [kept for step in route_of(task, found).steps for kept in step.kept]
        proved = [one for one in kept if one.cell.test is not None and one.way.sex is Sex.COCK]
        assert proved
        for one in proved:
            assert one.cell.test is not None
            assert one.cell.test.judged is Sex.HEN


class TestAutosomalRecessive:
    """Lavender: carriers look like birds without it."""

    def test_obligate_carriers_take_two_seasons_a_backcross(self) -> None:
        task = task_of({"lav": 2}, backcrosses=2)
        route = route_of(task, Search(task).find(RESTRICTIONS["sure"])[0])
        assert route.seasons == 6
        shares = [step.share for step in route.steps]
        assert shares == [0.5, 0.5, 0.75, 0.75, 0.875, 0.875]
        assert route.dna_tests == route.test_chicks == 0

    def test_blind_is_quicker_and_wider(self) -> None:
        task = task_of({"lav": 2}, backcrosses=2)
        schemes = all_schemes(task)
        sure, looks = (schemes.named(name).routes[0] for name in ("sure", "looks"))
        assert looks.seasons < sure.seasons
        assert looks.chicks > sure.chicks

    def test_after_two_blind_seasons_one_bird_in_four_carries(self) -> None:
        task = task_of({"lav": 2}, backcrosses=2)
        found = Search(task).find(RESTRICTIONS["looks"])[0]
        blind = {task.carrying(way.mix) for way in found.history if way.source is None}
        assert Fraction(1, 4) in blind

    def test_dna_is_as_quick_with_fewer_chicks(self) -> None:
        schemes = all_schemes(task_of({"lav": 2}, backcrosses=2))
        dna, blind = schemes.named("hens").routes[0], schemes.named("looks").routes[0]
        assert dna.seasons <= blind.seasons
        assert dna.chicks < blind.chicks


class TestOneCopyWanted:
    """Where two copies kill, or the wanted look is the one-copy bird."""

    @pytest.mark.parametrize("symbol", ["Cp", "Bl"])
    def test_one_copy_is_reached_by_backcrosses_alone(self, symbol: str) -> None:
        task = task_of({symbol: 1}, backcrosses=2)
        route = route_of(task, Search(task).find()[0])
        assert route.seasons == 3
        assert all(step.cock.recurrent or step.hen.recurrent for step in route.steps)

    def test_two_carriers_of_a_lethal_are_never_crossed(self) -> None:
        task = task_of({"Cp": 1}, backcrosses=2)
        search = Search(task)
        carrier = task.genome.chicks(
            task.genome.pure(Sex.COCK, [1]), task.genome.pure(Sex.HEN, [0]), Sex.COCK
        )
        assert search.cells(search.same(carrier), search.same(carrier)) == {}
        assert Why.DOUBLE_DOSE_HARMS in {one.why for one in pitfalls(task)}


class TestNeighbour:
    """Blue egg with an unwanted pea comb beside it."""

    def test_the_recombinant_is_looked_for_and_its_numbers_are_sedcole_s(self) -> None:
        task = task_of({"O": 2, "P": 0}, loci=linked("O", "P", 0.04), backcrosses=1)
        route = route_of(task, Search(task).find(RESTRICTIONS["cocks"])[0])
        rare = min(kept.cell.chance for step in route.steps for kept in step.kept)
        assert rare == Fraction(1, 50)

    def test_crossing_before_the_break_is_a_pitfall(self) -> None:
        task = task_of({"O": 2, "P": 0}, loci=linked("O", "P", 0.04), backcrosses=1)
        found = next(one for one in pitfalls(task) if one.why is Why.NEIGHBOUR)
        assert (found.locus, found.other, found.chance) == ("O", "P", Fraction(1, 2500))

    def test_a_recurrent_breed_with_the_same_comb_is_no_neighbour(self) -> None:
        loci = linked("O", "P", 0.04)
        task = task_of({"O": 2, "P": 0}, loci=loci, backcrosses=1)
        clean = tuple(
            replace(source, mix=task.genome.pure(source.sex, [1, 0]))
            if source.share == 0
            else source
            for source in task.sources
        )
        assert Why.NEIGHBOUR not in {one.why for one in pitfalls(replace(task, sources=clean))}


def test_one_copy_of_a_lethal_beside_two_of_another_takes_mates_that_are_free_of_it() -> None:
    task = task_of({"Cp": 1, "O": 2}, backcrosses=1)
    found = Search(task).find(RESTRICTIONS["any"], slack=0)[0]
    (last,) = [step for step in route_of(task, found).steps if step.season == found.season]
    copies = {task.genome.copies(state)[0] for way in (last.cock, last.hen) for state, _ in way.mix}
    assert copies == {0, 1}
    assert task.must_carry == (1,)


def test_a_lethal_is_not_bred_from_even_by_accident() -> None:
    loci = {"Cp": catalogue()["Cp"], "O": catalogue()["O"]}
    task = task_of({"Cp": 1, "O": 2}, loci=loci, backcrosses=1)
    for found in Search(task).find():
        for way in found.history:
            assert not task.harmful(way.mix, way.sex) or way.donor


def test_a_search_that_would_not_end_gives_up_in_time() -> None:
    """Three loci make thousands of crosses, each of which takes milliseconds to work out."""
    search = Search(task_of({"lav": 1, "choc": 0, "y": 0}, backcrosses=4))
    search.find(RESTRICTIONS["looks"])
    assert search.gave_up
    assert search.crosses <= 400


def test_what_stays_single_is_what_is_wanted_twice() -> None:
    task = task_of({"Bl": 1, "O": 2})
    (single,) = [one for one in pitfalls(task) if one.why is Why.CARRIERS_STAY_SINGLE]
    assert single.locus == "O"
