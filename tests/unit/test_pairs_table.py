"""The pair table: who is in it, its terms, and the order of its rows."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest

from matchmaker.pairs.rules import Rule
from matchmaker.pairs.table import judge_pairs
from matchmaker.tables.records import Sex
from tests.builders import HOME, HOME_SEEN, bird, chick, cock, dna, hen, judged, only, rules

if TYPE_CHECKING:
    from pathlib import Path


def test_every_living_hen_meets_every_living_cock(tmp_path: Path) -> None:
    birds = [*HOME, bird("U", "", "Pure", "sussex"), hen("D", status="dead")]
    found = judged(tmp_path, birds, seen=HOME_SEEN)
    assert [(pair.hen, pair.cock) for pair in found.pairs] == [
        ("AH", "AC"),
        ("AH", "SC"),
        ("SH", "AC"),
        ("SH", "SC"),
    ]


def test_row_order_changes_no_pair(tmp_path: Path) -> None:
    birds = [
        *HOME,
        chick("Y1", "hen", "SC", "AH", "Alder", hatched="2026-03-01", O="blue"),
        chick("Y2", "cock", "AC|SC", "SH", "Alder", hatched="2026-03-01"),
    ]
    first = judged(tmp_path / "first", birds, seen=HOME_SEEN)
    for turn in range(3):
        random.Random(turn).shuffle(birds)  # noqa: S311
        again = judged(tmp_path / str(turn), birds, seen=HOME_SEEN)
        assert again.pairs == first.pairs


def test_terms_of_a_backcross(tmp_path: Path) -> None:
    found = only(judged(tmp_path, HOME, seen=HOME_SEEN), "AH", "SC")
    assert (found.kinship, found.recurrent_share, found.merit) == (0.0, 0.75, 0.0)
    assert found.wanted_by_sex == {Sex.COCK: 0.25, Sex.HEN: 0.25}
    assert (found.wanted_chance, found.line, found.allowed) == (0.5, "Alder", True)
    assert found.key == ("AH", "SC", "Alder hens")


def test_allowed_are_those_without_a_broken_rule(tmp_path: Path) -> None:
    found = judged(tmp_path, HOME, seen=HOME_SEEN)
    assert [(pair.hen, pair.cock) for pair in found.allowed] == [
        ("AH", "SC"),
        ("SH", "AC"),
        ("SH", "SC"),
    ]
    assert rules(only(found, "AH", "AC")) == [Rule.LINE_CLOSED]


def test_pairs_without_a_row_may_be_left_out_but_for_those_a_wish_allows(tmp_path: Path) -> None:
    wish = {"bird": "AH", "with": "AC", "wish": "allow", "why": "our only pair"}
    other = {**wish, "with": "SC"}
    for number, row in enumerate((other, wish)):
        every = judged(tmp_path / str(number), HOME, seen=HOME_SEEN, wishes=[row])
        found = judge_pairs(every.study, open_only=True)
        assert found.allowed == every.allowed
        assert list(found.pairs) == [pair for pair in every.pairs if pair.crossing is not None]
        assert (len(found.pairs), len(every.pairs)) == (3 + number, 4)


def test_a_z_linked_gene_of_a_hen_is_wanted_in_sons_only(tmp_path: Path) -> None:
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {S = 2}\n'
    seen = [dna("AH", "S", 1), dna("AC", "S", 1)]
    found = judged(tmp_path, HOME, top=top, seen=seen)
    assert only(found, "AH", "SC").wanted_by_sex == {Sex.COCK: 0.5, Sex.HEN: 0.0}
    assert only(found, "SH", "AC").wanted_by_sex == {Sex.COCK: 0.25, Sex.HEN: 0.25}


def test_related_uncertain_parents_are_judged_by_their_joint_genotype(tmp_path: Path) -> None:
    """Full sibs whose dam has 0, 1 or 2 copies with (1 − f)², 2f(1 − f), f²; their sire none.

    Both carry with f(1 − f)/2 + f², more often than each alone, squared; then a quarter of the
    chicks have two copies.
    """
    row = '[[matings]]\nhens = "Alder"\ncocks = "Alder"\nchicks = "Alder"\npurpose = "hold"\n'
    settings = row + 'name = "sibs"\nkeep = {P = [2]}\n' + "[loci.P.frequency]\naraucana = 0.3\n"
    birds = [
        cock("SC", P="single"),
        hen("SH"),
        hen("D", "Elm", "araucana"),
        chick("X", "hen", "SC", "D", "Alder", hatched="2026-03-01"),
        chick("W", "cock", "SC", "D", "Alder", hatched="2026-03-01"),
    ]
    found = only(judged(tmp_path, birds, settings), "X", "W")
    assert found.wanted_chance == pytest.approx((0.3 * 0.7 / 2 + 0.3**2) / 4)


LINKED = '[loci.P]\nlinked_to = "O"\nrecombination = 0.04\n'
APART = '[loci.P]\nlinked_to = "O"\nrecombination = 0.5\n'
BOTH = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2, P = 2}\n'


@pytest.mark.parametrize(("settings", "wanted"), [(LINKED, 0.48), (APART, 0.25)])
def test_linked_loci_pass_on_together(tmp_path: Path, settings: str, wanted: float) -> None:
    """The hen of a first cross has both alleles from her dam: they stay together in 96 %."""
    birds = [hen("D", "Elm", "araucana"), cock("SC"), chick("F", "hen", "SC", "D", "Alder")]
    found = only(judged(tmp_path, birds, settings, BOTH), "F", "SC")
    assert found.wanted_chance == pytest.approx(wanted)
    assert not found.approximate


def test_what_is_seen_of_a_locus_speaks_of_the_one_beside_it(tmp_path: Path) -> None:
    """A first-cross cock's pea-combed son carries the blue egg's allele but for a crossover."""
    birds = [
        hen("D", "Elm", "araucana", hatched="2024-03-01"),
        cock("SC", hatched="2024-03-01"),
        hen("SH"),
        chick("F", "cock", "SC", "D", "Alder", hatched="2025-03-01"),
        chick("G", "cock", "F", "SH", "Alder", hatched="2026-03-01", P="pea"),
    ]
    table = judged(tmp_path, birds, LINKED, BOTH)
    assert table.study.genotypes["O"].carrier_probability("G") == pytest.approx(0.96)


def test_a_third_linked_locus_is_counted_apart_and_said_so(tmp_path: Path) -> None:
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2, P = 2, R = 2}\n'
    settings = LINKED + '[loci.R]\nlinked_to = "O"\nrecombination = 0.2\n'
    seen = [*HOME_SEEN, *(dna(band, s, 1) for band in ("AH", "AC") for s in ("P", "R"))]
    table = judged(tmp_path, HOME, settings, top, seen=seen)
    assert table.study.inferred.apart == (("O", "R"),)
    assert only(table, "AH", "SC").approximate


SIGHT = """[[matings]]
name = "row"
hens = "Alder"
cocks = "Pure"
chicks = "Alder"
purpose = "backcross"
recognise = "sight"
"""


def by_sight(path: Path, keep: str, locus: str, copies: tuple[int, int]) -> tuple[float, float]:
    """Return the told and the true chance of a wanted chick of AH × SC in a row kept by sight.

    ``copies`` are the hen's and the cock's.
    """
    seen = [dna("AH", locus, copies[0]), dna("SC", locus, copies[1])]
    frequency = f"[loci.{locus}.frequency]\nsussex = 0.5\naraucana = 0.5\n"
    settings = SIGHT + f"keep = {{{locus} = {keep}}}\n" + frequency
    pair = only(judged(path, HOME, settings, seen=seen), "AH", "SC")
    assert pair.true_by_sex is not None
    assert pair.wanted_chance is not None
    return pair.wanted_chance, sum(pair.true_by_sex.values())


@pytest.mark.parametrize(
    ("locus", "keep", "copies", "told", "true"),
    [
        pytest.param("P", "[1, 2]", (1, 0), 0.5, 0.5, id="a dominant comb tells carriers"),
        pytest.param("P", "[1]", (1, 1), 0.0, 0.5, id="one copy looks like two"),
        pytest.param("P", "[1, 2]", (1, 1), 0.75, 0.75, id="both are kept"),
        pytest.param("P", "[0]", (1, 1), 0.25, 0.25, id="single combs are pure"),
        pytest.param("O", "[1, 2]", (1, 0), 0.25, 0.5, id="blue eggs tell hens, not cocks"),
        pytest.param("lav", "[1]", (1, 0), 0.0, 0.5, id="one copy of a recessive is hidden"),
        pytest.param("lav", "[2]", (1, 1), 0.25, 0.25, id="two copies of a recessive show"),
        pytest.param("Bl", "[1]", (1, 1), 0.5, 0.5, id="blue is told from black and splash"),
        pytest.param("M", "[1, 2]", (1, 0), 0.0, 0.5, id="spurs come after the grading"),
    ],
)
def test_what_sight_can_tell_by_grading_time(
    tmp_path: Path, locus: str, keep: str, copies: tuple[int, int], told: float, true: float
) -> None:
    assert by_sight(tmp_path, keep, locus, copies) == (told, true)


def test_a_class_counts_if_nearly_all_of_it_is_wanted(tmp_path: Path) -> None:
    """Cock with both, hen with one copy: all pea-combed, half of them with one: not told apart."""
    assert by_sight(tmp_path, "[2]", "P", (1, 2)) == (0.0, 0.5)
    assert by_sight(tmp_path, "[1]", "P", (2, 0)) == (1.0, 1.0)


def test_birds_that_are_out_are_listed_with_their_reasons(tmp_path: Path) -> None:
    birds = [*HOME, hen("X", defects="wry tail"), hen("Z")]
    found = judged(tmp_path, birds, seen=HOME_SEEN)
    assert [broken.rule for broken in found.of_birds["X"]] == [Rule.UNFIT]
    assert found.of_birds["Z"] == ()


def test_pairs_of_the_dead_in_a_standing_plan_are_shown(tmp_path: Path) -> None:
    plan = [{"pen": "Yard", "cock": "SC", "hen": "G"}]
    birds = [*HOME, hen("G", status="dead", left_on="2026-12-01")]
    found = judged(tmp_path, birds, seen=HOME_SEEN, plan=plan)
    assert rules(only(found, "G", "SC")) == [Rule.NOT_AVAILABLE]
