"""What each piece of evidence moved a probability by: order, sums and grouping."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.genotypes import account as module
from matchmaker.genetics.genotypes.account import (
    STEPS_MAX,
    Account,
    Record,
    account,
    account_of,
    groups,
)
from matchmaker.genetics.genotypes.genotype import genotype_probabilities, genotypes_of
from matchmaker.genetics.genotypes.network import Problem
from matchmaker.genetics.genotypes.observed import Place, Sighting
from matchmaker.genetics.genotypes.posterior import posterior_of
from matchmaker.genetics.genotypes.relatives import Kin
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.loci.catalogue import catalogue
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence, seen_row

if TYPE_CHECKING:
    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.tables.records import SeenRecord

COMB, EGG = catalogue()["P"], catalogue()["O"]
FAMILY = (
    "GC cock recurrent recurrent",
    "GH hen donor donor",
    "S cock recurrent recurrent",
    "D hen GC GH",
    "X cock S D",
    "Y hen S D",
    "M hen recurrent recurrent",
    "K1 cock X M",
    "K2 cock X M",
    "G hen K1 M",
    "U hen recurrent recurrent",
)


def of(flock: Pedigree, bird: str, seen: dict[str, str], *rows: SeenRecord) -> Account:
    told = evidence(flock, COMB, seen, *rows)
    return account(genotype_probabilities(flock, COMB, told, "recurrent"), bird)


def family(seen: dict[str, str], *rows: SeenRecord) -> Account:
    return of(pedigree(*FAMILY), "X", seen, *rows)


def kins(found: Account) -> list[Kin]:
    return [step.kin for step in found.steps]


def test_without_evidence_the_pedigree_alone_speaks() -> None:
    found = family({})
    assert found.start == found.end == (0.5, 0.5, 0.0)
    assert found.steps == ()


def test_the_start_knows_nothing_of_the_evidence() -> None:
    assert family({"X": "pea"}).start == (0.5, 0.5, 0.0)


def test_each_step_starts_where_the_one_before_ended() -> None:
    found = family({"X": "pea", "D": "pea", "K1": "pea", "U": "single"})
    assert found.steps[0].before == found.start
    assert all(one.after == two.before for one, two in pairwise(found.steps))
    assert found.steps[-1].after == found.end


def test_the_end_is_the_probability_given_everything() -> None:
    flock = pedigree(*FAMILY)
    told = evidence(flock, COMB, {"D": "pea", "K1": "single", "K2": "single"})
    genotypes = genotype_probabilities(flock, COMB, told, "recurrent")
    assert account(genotypes, "X").end == pytest.approx(tuple(genotypes.of("X")), abs=1e-12)


def test_kin_come_in_the_order_a_keeper_follows() -> None:
    cross = ("A cock donor recurrent", "B hen recurrent recurrent", "P cock A B")
    flock = pedigree(
        *(*cross, "Q hen recurrent donor", "X cock P Q", "Y hen P Q", "M hen donor recurrent"),
        *("K cock X M", "N hen donor recurrent", "G hen K N"),
    )
    told = ("G", "K", "M", "Q", "P", "Y", "A")
    seen = evidence(flock, COMB, dict.fromkeys(told, "pea"))
    found = groups(flock, "X", [Record(symbol="P", evidence=one) for one in seen])
    order = [Kin.PARENT, Kin.ANCESTOR, Kin.CHICK, Kin.MATE, Kin.SIB, Kin.DESCENDANT]
    assert list(dict.fromkeys(kin for kin, _ in found)) == order


def test_one_blue_layer_among_the_daughters_proves_the_sire() -> None:
    flock = pedigree("S cock donor recurrent", "D hen recurrent recurrent", "K hen S D")
    told = evidence(flock, EGG, {"K": "blue"})
    found = account(genotype_probabilities(flock, EGG, told, "recurrent"), "S")
    assert [(step.kin, step.after) for step in found.telling] == []
    doubtful = pedigree("S cock donor recurrent", "T cock S recurrent", "K hen T recurrent")
    told = evidence(doubtful, EGG, {"K": "blue"})
    found = account(genotype_probabilities(doubtful, EGG, told, "recurrent"), "T")
    assert [(step.kin, step.after) for step in found.telling] == [(Kin.CHICK, (0.0, 1.0, 0.0))]


def test_three_white_daughters_leave_one_chance_in_nine() -> None:
    row = seen_row(7, pair=("M", "X"), what=(("not blue", 3),), locus="O")
    flock = pedigree(*FAMILY[:3], "D hen GC GH", "X cock S D", "M hen recurrent recurrent")
    told = evidence(flock, EGG, {"D": "blue"}, row)
    found = account(genotype_probabilities(flock, EGG, told, "recurrent"), "X")
    (step,) = found.telling
    assert step.kin is Kin.CHICK
    assert (step.before[1], step.after[1]) == pytest.approx((1 / 2, 1 / 9))


def test_records_that_change_nothing_are_counted_and_kept_apart() -> None:
    found = family({"X": "pea", "U": "single", "K1": "pea", "M": "single", "S": "single"})
    assert [step.kin for step in found.telling] == [Kin.OWN]
    assert found.quiet_records == 4


def test_alike_records_of_chicks_make_one_step_and_others_their_own() -> None:
    found = family({"D": "pea", "K1": "single", "K2": "single"})
    (chicks,) = [step for step in found.steps if step.kin is Kin.CHICK]
    assert sorted(birds(chicks.records)) == ["K1", "K2"]


def birds(records: tuple[Record, ...]) -> list[str]:
    return [one.evidence.bird for one in records if isinstance(one.evidence, Sighting)]


def test_every_record_is_in_exactly_one_step() -> None:
    seen = {"X": "pea", "D": "pea", "K1": "pea", "K2": "single", "U": "single", "GH": "pea"}
    found = family(seen)
    assert sorted(band for step in found.steps for band in birds(step.records)) == sorted(seen)


def many(words: str) -> list[SeenRecord]:
    return [
        seen_row(row, pair=("M", "X"), what=((words, 1),), locus="P")
        for row in range(10, 10 + 2 * STEPS_MAX)
    ]


def test_after_so_many_steps_the_rest_makes_one() -> None:
    found = family({"D": "pea"}, *many("single"))
    assert len(found.steps) <= STEPS_MAX
    assert sum(len(step.records) for step in found.steps) == 1 + 2 * STEPS_MAX
    assert found.end[1] == pytest.approx(1 / (1 + 4**STEPS_MAX))


def test_a_parent_among_many_is_no_kin_to_speak_of() -> None:
    hens = [f"H{number} hen donor recurrent" for number in range(8)]
    anyone = "|".join(line.split()[0] for line in hens)
    flock = pedigree(*hens, "S cock recurrent recurrent", f"X hen S {anyone}")
    assert kins(of(flock, "X", {"H0": "pea"})) == [Kin.OTHER]
    named = pedigree(*hens, "S cock recurrent recurrent", "X hen S H0|H1")
    assert kins(of(named, "X", {"H0": "pea"})) == [Kin.PARENT]


def test_a_hen_on_the_z_has_no_second_copy() -> None:
    silver = catalogue()["S"]
    flock = pedigree("S cock donor recurrent", "D hen recurrent recurrent", "X hen S D")
    told = evidence(flock, silver, {"D": "gold"})
    found = account(genotype_probabilities(flock, silver, told, "recurrent"), "X")
    assert found.end == (0.5, 0.5, 0.0)


def linked(seen: dict[str, dict[str, str]], symbol: str, bird: str) -> Account:
    """An account of blue eggshell or pea comb, the two worked out as linked."""
    flock = pedigree(*FAMILY)
    loci = (EGG, COMB)
    told = tuple(evidence(flock, locus, seen.get(locus.symbol, {})) for locus in loci)
    problem = Problem(
        pedigree=flock, recurrent="recurrent", loci=loci, evidence=told, recombination=0.04
    )
    place = [locus.symbol for locus in loci].index(symbol)
    return account(genotypes_of(posterior_of(problem), place), bird)


def test_the_comb_speaks_of_the_shell_where_they_are_linked() -> None:
    found = linked({"P": {"X": "pea"}}, "O", "X")
    (step,) = found.telling
    assert step.records[0].symbol == "P"
    assert (step.before[1], step.after[1]) == pytest.approx((0.5, 0.96))


def test_records_of_both_loci_come_in_one_order() -> None:
    found = linked({"P": {"X": "pea", "K1": "pea"}, "O": {"D": "blue"}}, "O", "X")
    order = [(record.symbol, step.kin) for step in found.steps for record in step.records]
    assert order[0] == ("P", Kin.OWN)
    assert {symbol for symbol, _ in order} == {"O", "P"}
    assert len(order) == 3


def test_a_hen_is_accounted_for_on_the_z_among_linked_loci() -> None:
    flock = pedigree("S cock donor recurrent", "D hen recurrent recurrent", "X hen S D")
    loci = (catalogue()["S"], catalogue()["K"])
    told = (evidence(flock, loci[0], {"X": "silver"}), ())
    problem = Problem(
        pedigree=flock, recurrent="recurrent", loci=loci, evidence=told, recombination=0.1
    )
    found = account(genotypes_of(posterior_of(problem), 1), "X")
    assert found.start == pytest.approx((0.5, 0.5, 0.0))
    assert found.end == pytest.approx((0.1, 0.9, 0.0))


def group(row: int) -> tuple[Kin, tuple[Record, ...]]:
    place = Place(file="seen.csv", row=row, column="what", words="pea")
    seen = Sighting(bird="X", weights=((1.0, 1.0, 1.0), (1.0, 1.0, 1.0)), place=place)
    return Kin.OWN, (Record(symbol="P", evidence=seen),)


def test_a_step_that_is_too_tangled_is_joined_with_the_next() -> None:
    beliefs = {0: (1.0, 0.0, 0.0), 2: (0.4, 0.6, 0.0)}

    def belief(records: object) -> tuple[float, float, float]:
        taken = len(records) if isinstance(records, tuple | list) else 0
        if taken not in beliefs:
            raise TooTangledError(1)
        return beliefs[taken]

    found = account_of("X", "P", [group(2), group(3), group(4)], belief, (0.2, 0.8, 0.0))
    assert [len(step.records) for step in found.steps] == [2, 1]
    assert [step.after[1] for step in found.steps] == [0.6, 0.8]


def test_small_moves_add_up_to_a_step_that_is_shown() -> None:
    small = module.QUIET * 0.7

    def belief(records: object) -> tuple[float, float, float]:
        carries = small * (len(records) if isinstance(records, tuple | list) else 0)
        return (1 - carries, carries, 0.0)

    told = [group(row) for row in range(2, 8)]
    found = account_of("X", "P", told, belief, belief([None] * 6))
    assert np.isclose(found.end[1], 6 * small)
    assert all(one.after == two.before for one, two in pairwise(found.steps))
    assert sum(len(step.records) for step in found.steps) == 6
