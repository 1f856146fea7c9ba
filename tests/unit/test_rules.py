"""Every rule for rejecting a pair, in a small flock where it alone rejects."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.pairs.rules import Rule
from matchmaker.report.wording import rule_sentence, rule_state
from tests.builders import (
    HOME,
    HOME_SEEN,
    Row,
    chick,
    cock,
    dna,
    hen,
    judged,
    only,
    rules,
    sole,
    table,
    write_flock,
)

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.pair import Pair

PURE = (cock("SC"), hen("SH"))


def pure(path: Path, settings: str = "", wishes: tuple[Row, ...] = (), **cells: str) -> Pair:
    """Return the pair SH × SC of the pure line; ``cells`` are the hen's."""
    birds = [cock("SC"), hen("SH", **cells)]
    folder = write_flock(path, birds, settings)
    if wishes:
        (folder / "wishes.csv").write_text(table(wishes), encoding="utf-8")
    return only(verbs.pairs(folder), "SH", "SC")


def test_a_sound_pair_breaks_nothing(tmp_path: Path) -> None:
    found = pure(tmp_path)
    assert (found.broken, found.allowed, found.waived) == ((), True, False)


def test_too_related(tmp_path: Path) -> None:
    birds = [*PURE, hen("SH2"), chick("Y", "hen", "SC", "SH", "Pure")]
    broken = sole(only(judged(tmp_path, birds), "Y", "SC"), Rule.TOO_RELATED)
    assert (broken.measured, broken.limit) == (0.25, 0.125)
    assert rule_state(broken) == "too closely related"
    assert rule_sentence(broken) == (
        "kinship 0.250 is above the limit 0.125: so large a part of the chicks' genes would be "
        "doubled by descent"
    )


def test_kinship_at_the_limit_is_allowed(tmp_path: Path) -> None:
    """Half sibs: 1/8, exactly the limit."""
    birds = [
        *PURE,
        hen("SH2"),
        chick("Y", "hen", "SC", "SH", "Pure"),
        chick("Z", "cock", "SC", "SH2", "Pure"),
    ]
    found = only(judged(tmp_path, birds), "Y", "Z")
    assert (found.kinship, found.allowed) == (0.125, True)


@pytest.mark.parametrize(
    ("settings", "broken"),
    [
        pytest.param("[limits]\nkinship_max = 0.3\n", [], id="a higher limit"),
        pytest.param("[lines.Pure]\nkinship_max = 0.3\n", [], id="a line's own limit"),
        pytest.param(
            "[limits]\nkinship_max = 0.3\n[lines.Pure]\nkinship_max = 0.2\n",
            [Rule.TOO_RELATED],
            id="the line's goes before",
        ),
    ],
)
def test_the_limit_is_the_lines_that_the_chicks_join(
    tmp_path: Path, settings: str, broken: list[Rule]
) -> None:
    birds = [*PURE, chick("Y", "hen", "SC", "SH", "Pure")]
    assert rules(only(judged(tmp_path, birds, settings), "Y", "SC")) == broken


def test_without_a_row_the_looser_limit_of_the_two_lines_holds(tmp_path: Path) -> None:
    birds = [
        cock("SC"),
        cock("BC", "Birch", "araucana"),
        hen("H", "Alder", "araucana"),
        chick("Y", "hen", "BC", "H", "Alder"),
    ]
    settings = "[lines.Alder]\nkinship_max = 0.3\n[lines.Birch]\nkinship_max = 0.1\n"
    assert rules(only(judged(tmp_path, birds, settings), "Y", "BC")) == [Rule.LINE_CLOSED]


def test_mates_of_one_source_are_held_by_its_base(tmp_path: Path) -> None:
    birds = [cock("SC", source="Hill"), hen("SH", source="Hill")]
    found = judged(tmp_path, birds, "[sources.Hill]\nbase = 0.2\n")
    broken = sole(only(found, "SH", "SC"), Rule.TOO_RELATED)
    assert broken.measured == 0.2


def test_lethal_chicks(tmp_path: Path) -> None:
    """Chance of a creeper 0.3 in each founder gamete: 0.09 of the chicks have two copies."""
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}\n'
    settings = "[loci.Cp.frequency]\nsussex = 0.3\n"
    cells = {"Cp": "creeper"}
    found = only(judged(tmp_path, [cock("SC"), hen("SH", **cells)], settings, top), "SH", "SC")
    broken = sole(found, Rule.LETHAL_CHICKS)
    # a living cock has one copy with 0.42 / 0.91; then a quarter of the chicks die
    assert broken.measured == pytest.approx(0.42 / 0.91 / 4)
    assert (broken.limit, broken.facts["locus"], broken.final) == (0.01, "Cp", False)
    assert rule_state(broken) == "chicks would die"
    assert rule_sentence(broken) == (
        "12 % of the chicks are expected to die or suffer from a double dose of Cp; the limit is "
        "1 % (put each with a bird that is free of Cp)"
    )


def test_few_enough_lethal_chicks_are_borne(tmp_path: Path) -> None:
    settings = "[limits]\nlethal_max = 0.12\n[loci.Cp.frequency]\nsussex = 0.3\n"
    birds = [cock("SC"), hen("SH", Cp="creeper")]
    assert only(judged(tmp_path, birds, settings), "SH", "SC").allowed


def test_a_creeper_with_a_normal_bird_has_no_lethal_chicks(tmp_path: Path) -> None:
    birds = [cock("SC", Cp="normal"), hen("SH", Cp="creeper")]
    found = judged(tmp_path, birds, "[loci.Cp.frequency]\nsussex = 0.3\n")
    assert only(found, "SH", "SC").allowed


def test_line_closed(tmp_path: Path) -> None:
    found = only(judged(tmp_path, HOME, seen=HOME_SEEN), "AH", "AC")
    broken = sole(found, Rule.LINE_CLOSED)
    assert rule_state(broken) == "would mix lines"
    assert rule_sentence(broken) == (
        "no crossing of Alder hens (AH) with Alder cocks (AC) is open this season"
    )
    assert not found.allowed


@pytest.mark.parametrize("status", ["sold", "dead", "culled"])
def test_a_bird_of_the_standing_plan_that_is_gone(tmp_path: Path, status: str) -> None:
    plan = [{"pen": "Yard", "cock": "SC", "hen": "SH"}]
    birds = [cock("SC"), hen("SH", status=status, left_on="2026-11-01")]
    found = only(judged(tmp_path, birds, plan=plan), "SH", "SC")
    broken = sole(found, Rule.NOT_AVAILABLE)
    assert rule_sentence(broken) == f"SH is {status}"
    assert broken.final


def test_a_bird_that_is_gone_and_in_no_plan_is_not_judged(tmp_path: Path) -> None:
    birds = [*PURE, hen("X", status="dead", left_on="2026-11-01")]
    assert {pair.hen for pair in judged(tmp_path, birds).pairs} == {"SH"}


@pytest.mark.parametrize(
    ("release", "sentence"),
    [
        ("2027-02-02", "SH is in quarantine (until 2 February 2027, after the pens are made up)"),
        ("", "SH is in quarantine (no date given)"),
    ],
)
def test_quarantine(tmp_path: Path, release: str, sentence: str) -> None:
    broken = sole(pure(tmp_path, status="quarantine", release_on=release), Rule.NOT_AVAILABLE)
    assert rule_sentence(broken) == sentence
    assert rule_state(broken) == "not available"


def test_quarantine_that_ends_by_penning_is_no_bar(tmp_path: Path) -> None:
    assert pure(tmp_path, status="quarantine", release_on="2027-02-01").allowed


@pytest.mark.parametrize(
    ("why", "sentence"),
    [
        ("moulting", "SH rests this season by your wish: moulting"),
        ("", "SH rests this season by your wish"),
    ],
)
def test_rest(tmp_path: Path, why: str, sentence: str) -> None:
    found = pure(tmp_path, wishes=({"bird": "SH", "with": "", "wish": "rest", "why": why},))
    assert rule_sentence(sole(found, Rule.NOT_AVAILABLE)) == sentence


def test_too_young(tmp_path: Path) -> None:
    broken = sole(pure(tmp_path, hatched="2026-08-06"), Rule.TOO_YOUNG)
    assert (broken.measured, broken.limit) == (179, 180)
    assert rule_state(broken) == "too young"
    assert rule_sentence(broken) == (
        "SH will be 179 days old on 1 February 2027; breeding birds are at least 180"
    )


@pytest.mark.parametrize("hatched", ["2026-08-05", ""])
def test_old_enough_or_of_unknown_age(tmp_path: Path, hatched: str) -> None:
    assert pure(tmp_path, hatched=hatched).allowed


def test_the_age_limit_can_be_set(tmp_path: Path) -> None:
    found = pure(tmp_path, "[limits]\nage_min_days = 700\n")
    assert [broken.facts["bird"] for broken in found.broken] == []
    older = pure(tmp_path / "older", "[limits]\nage_min_days = 720\n")
    assert rules(older) == [Rule.TOO_YOUNG, Rule.TOO_YOUNG]


def test_unproven_carrier(tmp_path: Path) -> None:
    """A quarter donor, not tested: 1 − 0.75² = 43.75 per cent that she has a copy."""
    birds = [cock("SC"), hen("AH", "Alder", "sussex:0.75|araucana:0.25")]
    broken = sole(only(judged(tmp_path, birds), "AH", "SC"), Rule.UNPROVEN)
    assert broken.measured == pytest.approx(0.4375)
    assert (broken.limit, broken.facts["needs"]) == (0.5, "carrier")
    assert rule_state(broken) == "not proven to carry"
    assert rule_sentence(broken) == "the chance that AH carries O is 44 %; at least 50 % is asked"


def test_a_lower_limit_of_proof_lets_her_in(tmp_path: Path) -> None:
    birds = [cock("SC"), hen("AH", "Alder", "sussex:0.75|araucana:0.25")]
    found = judged(tmp_path, birds, "[limits]\nproof_min = 0.43\n")
    assert only(found, "AH", "SC").allowed


def test_unproven_pure(tmp_path: Path) -> None:
    """Allele in a third of the recurrent breed's gametes: (2/3)² free of it."""
    settings = "[loci.O.frequency]\nsussex = 0.34\n[limits]\nproof_min = 0.44\n"
    birds = [cock("SC", O=""), hen("SH")]
    found = judged(tmp_path, birds, settings, seen=[dna("SC", "O", 0)])
    broken = sole(only(found, "SH", "SC"), Rule.UNPROVEN)
    assert broken.measured == pytest.approx(0.66**2)
    assert rule_state(broken) == "not proven pure"
    assert (
        rule_sentence(broken) == "the chance that SH is free of O is 44 %; at least 44 % is asked"
    )


@pytest.mark.parametrize(
    ("keep", "copies", "broken"),
    [
        pytest.param("[2]", 2, None, id="a line that is pure for the allele"),
        pytest.param("[2]", 0, "carrier", id="without the allele in a line pure for it"),
        pytest.param("[0]", 0, None, id="a line free of the allele"),
        pytest.param("[0]", 1, "free", id="a carrier in a line free of the allele"),
        pytest.param("[0, 1]", 1, None, id="a line that may carry"),
    ],
)
def test_what_must_be_proven_of_a_held_line_is_what_it_keeps(
    tmp_path: Path, keep: str, copies: int, broken: str | None
) -> None:
    row = (
        '[[matings]]\nhens = "Alder"\ncocks = "Alder"\nchicks = "Alder"\npurpose = "hold"\n'
        f"keep = {{O = {keep}}}\n"
    )
    cross = "sussex:0.5|araucana:0.5"
    birds = [cock("SC"), cock("W", "Alder", cross), hen("X", "Alder", cross)]
    seen = [dna("W", "O", 2 if keep == "[2]" else 0), dna("X", "O", copies)]
    found = only(judged(tmp_path, birds, row, seen=seen), "X", "W")
    told = [one.facts["needs"] for one in found.broken if one.rule is Rule.UNPROVEN]
    assert told == ([broken] if broken else [])


@pytest.mark.parametrize(
    ("why", "sentence"),
    [
        ("she is pecked", "kept apart by your wish: she is pecked"),
        ("", "kept apart by your wish"),
    ],
)
def test_wished_apart(tmp_path: Path, why: str, sentence: str) -> None:
    wishes = ({"bird": "SC", "with": "SH", "wish": "apart", "why": why},)
    broken = sole(pure(tmp_path, wishes=wishes), Rule.WISHED_APART)
    assert rule_state(broken) == "kept apart by wish"
    assert rule_sentence(broken) == sentence


def test_unfit_by_a_defect(tmp_path: Path) -> None:
    broken = sole(pure(tmp_path, defects="crossed beak"), Rule.UNFIT)
    assert rule_state(broken) == "unfit to breed"
    assert rule_sentence(broken) == "SH has a defect that culls: crossed beak"


def test_every_defect_is_told(tmp_path: Path) -> None:
    found = pure(tmp_path, defects="crossed beak, wry tail")
    assert [broken.facts["defect"] for broken in found.broken] == ["crossed beak", "wry tail"]


@pytest.mark.parametrize(("scores", "broken"), [((3.0, 4.0), True), ((3.0, 5.0), False)])
def test_unfit_by_a_floor(tmp_path: Path, scores: tuple[float, float], broken: bool) -> None:  # noqa: FBT001
    """The floor holds for the mean of a bird's own scores."""
    rows = [{"bird": "SH", "temper": str(score)} for score in scores]
    settings = "[traits.temper]\nfloor = 4.0\n"
    found = only(judged(tmp_path, PURE, settings, scores=rows), "SH", "SC")
    assert rules(found) == [Rule.UNFIT] * broken
    for one in found.broken:
        assert (one.measured, one.limit) == (3.5, 4.0)
        assert rule_sentence(one) == "SH scored 3.5 for temper on average; the floor is 4"


def test_a_slip_of_the_pen_does_not_cull(tmp_path: Path) -> None:
    """Fifteen hens at about 50; 5.1 was written for 51. But 39 was meant."""
    hens = [hen(f"H{at}") for at in range(15)]
    laid = {f"H{at}": f"{48 + 0.3 * ((at * 7) % 15):g}" for at in range(15)}
    told = [{"bird": band, "eggs": value} for band, value in (laid | {"H4": "5.1"}).items()]
    settings = "[traits.eggs]\nfloor = 40.0\n"
    found = only(judged(tmp_path, [cock("C"), *hens], settings, scores=told), "H4", "C")
    assert Rule.UNFIT not in {one.rule for one in found.broken}
    poor = [{"bird": band, "eggs": value} for band, value in (laid | {"H4": "39"}).items()]
    found = only(judged(tmp_path / "poor", [cock("C"), *hens], settings, scores=poor), "H4", "C")
    assert Rule.UNFIT in {one.rule for one in found.broken}


def test_the_floor_is_for_what_was_meant(tmp_path: Path) -> None:
    """A floor nearer than 3.5 SDs: the slip counts as what was meant, not as a poor score."""
    hens = [hen(f"H{at}") for at in range(15)]
    laid = {f"H{at}": f"{48 + 0.3 * ((at * 7) % 15):g}" for at in range(15)}
    told = [{"bird": band, "eggs": value} for band, value in (laid | {"H4": "5.1"}).items()]
    settings = "[traits.eggs]\nfloor = 47.0\n"
    found = only(judged(tmp_path, [cock("C"), *hens], settings, scores=told), "H4", "C")
    assert found.broken == ()


def test_beside_a_sound_score_one_that_nobody_can_read_does_not_count(tmp_path: Path) -> None:
    hens = [hen(f"H{at}") for at in range(15)]
    told = [{"bird": f"H{at}", "eggs": f"{48 + 0.3 * ((at * 7) % 15):g}"} for at in range(15)]
    told.append({"bird": "H4", "eggs": "-7"})
    settings = "[traits.eggs]\nfloor = 40.0\n"
    found = only(judged(tmp_path, [cock("C"), *hens], settings, scores=told), "H4", "C")
    assert found.broken == ()


def test_no_floor_stands_where_scores_are_in_two_units(tmp_path: Path) -> None:
    hens = [hen(f"H{at}") for at in range(15)]
    told = [
        {"bird": f"H{at}", "weight": f"{(2300 + 10 * at) / (1000 if at < 5 else 1):g}"}
        for at in range(15)
    ]
    settings = "[traits.weight]\nfloor = 1700.0\n"
    found = only(judged(tmp_path, [cock("C"), *hens], settings, scores=told), "H2", "C")
    assert found.broken == ()


def test_a_floor_does_not_reject_the_unscored(tmp_path: Path) -> None:
    rows = [{"bird": "SC", "temper": "5"}]
    found = judged(tmp_path, PURE, "[traits.temper]\nfloor = 4.0\n", scores=rows)
    assert only(found, "SH", "SC").allowed


def test_no_wanted_chicks_at_the_limit(tmp_path: Path) -> None:
    """One half of the chicks wanted: a limit of one half rejects, one below it does not."""
    strict = judged(tmp_path / "a", HOME, "[limits]\nwanted_chance_min = 0.5\n", seen=HOME_SEEN)
    broken = sole(only(strict, "AH", "SC"), Rule.NO_WANTED_CHICKS)
    assert (broken.measured, broken.limit) == (0.5, 0.5)
    assert rule_state(broken) == "cannot pass the trait on"
    easy = judged(tmp_path / "b", HOME, "[limits]\nwanted_chance_min = 0.49\n", seen=HOME_SEEN)
    assert only(easy, "AH", "SC").allowed


def test_a_score_of_the_wrong_sex_does_not_cull(tmp_path: Path) -> None:
    """Somebody wrote a hen's poor eggs on the cock's row; `check` says that they do not count."""
    told = [{"bird": "SC", "eggs": "12"}, {"bird": "SH", "eggs": "12"}]
    settings = '[traits.eggs]\nfloor = 40.0\nsex = "hen"\n'
    found = only(judged(tmp_path, PURE, settings, scores=told), "SH", "SC")
    assert [one.facts["bird"] for one in found.broken] == ["SH"]
