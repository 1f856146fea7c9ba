"""What passes to a keeper's eye: parents, looks and latest scores."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.ahead.eye import keepers_eye, keepers_pairs, own_looks, raw_scores
from tests.builders import HOME, HOME_SEEN, chick, cock, dna, hen, judged

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from tests.builders import Row

HALF = "sussex:0.5|araucana:0.5"


def mates(table: PairTable) -> set[tuple[str, str]]:
    """Hen and cock of every pair that the keeper thinks of."""
    return {(pair.hen, pair.cock) for pair in keepers_pairs(table, keepers_eye(table))}


def carriers(table: PairTable, locus: str = "O") -> frozenset[str]:
    return keepers_eye(table).carriers[locus]


LAYERS = (
    cock("AC", "Alder", HALF),
    hen("AB", "Alder", HALF, O="blue"),
    hen("AW", "Alder", HALF, O="white"),
    hen("SH"),
    cock("SC"),
)


def test_hens_are_told_by_their_eggs_and_cocks_not_at_all(tmp_path: Path) -> None:
    assert own_looks(judged(tmp_path, LAYERS).study, "O") == {"AB": True, "AW": False}


def test_of_an_allele_series_the_look_of_any_other_allele_says_no(tmp_path: Path) -> None:
    """Wheaten shows only where there is no birchen."""
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {ER = 2}\n'
    birds = (
        *(cock(f"C{at}", "Alder", HALF) for at in range(2)),
        *(hen(f"H{at}", "Alder", HALF) for at in range(3)),
    )
    words = {"C0": "birchen", "C1": "wheaten", "H0": "birchen", "H1": "wheaten"}
    seen: list[Row] = [
        {"bird": band, "locus": "ER", "what": word, "how": "adult"} for band, word in words.items()
    ]
    both = "{ER = 0.5, eWh = 0.5}"
    settings = f"[loci.ER]\nfrequency = {{sussex = {both}, araucana = {both}}}\n"
    study = judged(tmp_path, birds, settings, top, seen=seen).study
    assert own_looks(study, "ER") == {"C0": True, "C1": False, "H0": True, "H1": False}


def test_where_no_look_can_say_a_parents_look_does(tmp_path: Path) -> None:
    birds = (
        *LAYERS,
        chick("S1", "cock", "SC", "AB", "Alder"),
        chick("S2", "cock", "SC", "AW", "Alder"),
        chick("S3", "cock", "SC", "AB:0.5|AW:0.5", "Alder"),
        chick("D1", "hen", "SC", "AB", "Alder", O="white"),
    )
    assert carriers(judged(tmp_path, birds)) == {"AB", "S1"}


def test_where_nobody_of_a_sex_passes_the_line_is_trusted(tmp_path: Path) -> None:
    """But not the white hen, and not the pure line, which carries nothing."""
    assert carriers(judged(tmp_path, LAYERS)) == {"AB", "AC"}


def test_a_test_counts_as_a_look(tmp_path: Path) -> None:
    table = judged(tmp_path, (*LAYERS, cock("AD", "Alder", HALF)), seen=[dna("AD", "O", 1)])
    assert carriers(table) == {"AB", "AD"}


def test_carriers_go_to_the_pure_line_and_pure_birds_to_their_like(tmp_path: Path) -> None:
    found = mates(judged(tmp_path, HOME, seen=HOME_SEEN))
    assert found == {("SH", "SC"), ("SH", "AC"), ("AH", "SC")}
    assert mates(judged(tmp_path / "white", LAYERS)) == {
        ("AB", "SC"),
        ("SH", "SC"),
        ("SH", "AC"),
    }


def test_a_bird_seen_to_carry_does_not_hold_a_line_pure(tmp_path: Path) -> None:
    birds = (cock("SC"), hen("SH"), hen("SB", O="blue"), *HOME[2:])
    settings = '[lines.Pure]\nstep = "hold"\n[breeds.sussex]\n[loci.O.frequency]\nsussex = 0.1\n'
    table = judged(tmp_path, birds, settings, seen=HOME_SEEN)
    pure = {p.hen for p in keepers_pairs(table, keepers_eye(table)) if p.line == "Pure"}
    assert pure == {"SH"}


OLD, GROWN = {"hatched": "2023-04-01"}, {"hatched": "2025-04-01"}
FAMILY = (
    cock("SC", **OLD),
    cock("SD", **OLD),
    hen("SH", **OLD),
    hen("SI", **OLD),
    {**chick("C1", "cock", "SC", "SH", "Pure"), **GROWN},
    {**chick("C2", "cock", "SD", "SH", "Pure"), **GROWN},
    {**chick("H1", "hen", "SC", "SI", "Pure"), **GROWN},
    {**chick("H2", "hen", "SC:0.5|SD:0.5", "SI", "Pure"), **GROWN},
    chick("G1", "hen", "C1", "SI", "Pure"),
)


def test_he_knows_parents_and_no_kin_beyond_them(tmp_path: Path) -> None:
    """Half brothers of one known parent are barred, the grandsire and a sire in doubt are not."""
    settings = "[limits]\nkinship_max = 0.01\n"
    table = judged(tmp_path, FAMILY, settings)
    found = mates(table)
    assert {cock for hen, cock in found if hen == "H1"} == {"SD", "C2"}
    assert {cock for hen, cock in found if hen == "SH"} == {"SC", "SD"}
    assert {cock for hen, cock in found if hen == "H2"} == {"SC", "SD", "C1", "C2"}
    assert {cock for hen, cock in found if hen == "G1"} == {"SC", "SD", "C2"}
    assert ("G1", "SC") not in {(pair.hen, pair.cock) for pair in table.allowed}


def test_birds_gone_young_unfit_or_kept_apart_are_barred(tmp_path: Path) -> None:
    birds = (
        cock("SC"),
        cock("SX", status="dead"),
        cock("SD", defects="wry tail"),
        hen("SH"),
        hen("SI"),
        hen("SQ", status="quarantine"),
        chick("SY", "hen", "founder", "founder", "Pure", hatched="2026-12-20"),
    )
    wishes = [{"bird": "SI", "with": "SC", "wish": "apart", "why": "she is torn"}]
    assert mates(judged(tmp_path, birds, wishes=wishes)) == {("SH", "SC")}


def test_a_pair_that_a_wish_allows_is_looked_at_no_further(tmp_path: Path) -> None:
    wishes = [{"bird": "H1", "with": "SC", "wish": "allow", "why": "his back"}]
    assert ("H1", "SC") in mates(judged(tmp_path, FAMILY, wishes=wishes))


def test_rows_from_which_nothing_can_come_and_test_rows_are_left_out(tmp_path: Path) -> None:
    rows = """
[[matings]]
name = "keep"
hens = "Alder"
cocks = "Pure"
chicks = "Alder"
purpose = "backcross"
keep = { O = [1] }
[[matings]]
name = "in vain"
hens = "Alder"
cocks = "Pure"
chicks = "Alder"
purpose = "backcross"
keep = { O = [2] }
[[matings]]
name = "trial"
hens = "Pure"
cocks = "Alder"
purpose = "test"
tests = "cock"
"""
    table = judged(tmp_path, HOME, rows, seen=[dna("AH", "O", 1)])
    assert {row.name for row in table.crossings} == {"keep", "in vain", "trial"}
    found = keepers_pairs(table, keepers_eye(table))
    assert [pair.key for pair in found] == [("AH", "SC", "keep")]


TRAITS = """
[traits.eggs]
direction = "up"
weight = 0.5
sex = "hen"
[traits.age]
direction = "down"
weight = 0.1
[traits.weight]
optimum = 2.5
weight = 0.2
[traits.comb]
direction = "up"
weight = "ignore"
"""


def score(bird: str, **cells: str) -> Row:
    return {"bird": bird, "date": "2026-11-01", **cells}


@pytest.fixture
def scored(tmp_path: Path) -> dict[str, float]:
    birds = (*(hen(f"H{at}") for at in range(4)), cock("C0"), cock("C1"), cock("C2"))
    scores = [
        score("H0", eggs="50", weight="2.5", comb="9"),
        score("H1", eggs="90", weight="3.0"),
        {**score("H1", eggs="40"), "date": "2026-12-01"},
        score("H2", eggs="45"),
        score("C0", weight="2.0", age="100"),
        score("C1", weight="3.0", age="120"),
    ]
    study = judged(tmp_path, birds, TRAITS, scores=scores).study
    return raw_scores(study, study.flock.living)


def test_the_latest_scores_count_within_each_sex(scored: dict[str, float]) -> None:
    """Eggs 50, 40, 45 are 1.2247 and 0 deviations off; of two the deviations are 1 and −1."""
    root = 1.5**0.5
    assert scored["H0"] == pytest.approx(0.5 * root + 0.2)
    assert scored["H1"] == pytest.approx(-0.5 * root - 0.2)
    assert scored["H2"] == pytest.approx(0.0)


def test_no_score_and_scores_all_alike_count_nothing(scored: dict[str, float]) -> None:
    """Both cocks are as far from the best weight; the younger at point of lay is better."""
    assert (scored["H3"], scored["C2"]) == (0.0, 0.0)
    assert scored["C0"] == pytest.approx(0.1)
    assert scored["C1"] == pytest.approx(-0.1)
