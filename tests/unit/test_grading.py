"""Keep, let go or wait: the verdict on young birds of every kind, and who fills the places."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from matchmaker.errors import SolverStoppedError
from matchmaker.genetics.genotypes.inferred import LociClashError
from matchmaker.grade.choosing import Ground, Pool, choose
from matchmaker.grade.hope import hope_of
from matchmaker.grade.places import Places
from matchmaker.grade.sexed import as_either_sex, can_be, possible
from matchmaker.grade.unseen import Kind
from matchmaker.grade.verdicts import Verdict, Why
from matchmaker.plan.solvers.watch import Watch
from matchmaker.rebalance.spares import spares_for
from matchmaker.tables.records import Sex
from tests.builders import chick, cock, dna, hen, judged
from tests.grade_flocks import DAY, HALF, OLD, SEEN, SETTINGS, YOUNG, grade_of, graded, verdicts

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.grade.grading import Grading


@pytest.fixture(scope="module")
def grading(tmp_path_factory: pytest.TempPathFactory) -> Grading:
    return graded(tmp_path_factory.mktemp("grading") / "flock")


def test_every_young_bird_gets_a_verdict(grading: Grading) -> None:
    assert verdicts(grading) == {
        "A0": "keep",
        "A1": "let go",
        "A2": "let go",
        "A3": "keep",
        "A4": "wait",
        "A5": "wait",
        "A6": "wait",
        "S2": "keep",
        "S3": "keep",
    }


def test_one_that_cannot_carry_or_has_a_defect_goes(grading: Grading) -> None:
    for band, rules in {"A1": ["unproven", "no-wanted-chicks"], "A2": ["unfit"]}.items():
        ruling = grade_of(grading, band).ruling
        assert ruling.why is Why.RULED_OUT
        assert [str(broken.rule) for broken in ruling.broken] == rules


def test_the_plan_takes_the_proven_hen_first(grading: Grading) -> None:
    found = grade_of(grading, "A0")
    assert (found.choice, found.ruling.ground, found.unseen) == (1, Ground.CHOICE, ())
    assert found.worth is not None
    assert 0 < found.worth.at_least <= found.worth.at_most


def test_a_pullet_waits_until_she_lays(grading: Grading) -> None:
    found = grade_of(grading, "A4")
    (look,) = found.unseen
    assert (look.kind, look.names, look.at_lay) == (Kind.LOOK, ("O",), True)
    assert look.since == dt.date(2026, 7, 1) + dt.timedelta(days=180)
    assert look.chance == pytest.approx(0.5)
    assert (found.ruling.why, found.ruling.ground) == (Why.UNSEEN, Ground.CHOICE)


def test_one_of_unknown_sex_waits_as_either(grading: Grading) -> None:
    found = grade_of(grading, "A5")
    assert {one.sex for one in found.prospects} == {Sex.COCK, Sex.HEN}
    kinds = {(one.kind, one.sex) for one in found.unseen}
    assert kinds == {(Kind.SEX, None), (Kind.TEST, Sex.COCK), (Kind.LOOK, Sex.HEN)}
    assert found.ruling.why is Why.UNSEEN


def test_one_too_young_for_the_next_pens_waits_for_those_after(grading: Grading) -> None:
    ruling = grade_of(grading, "A6").ruling
    assert ruling.why is Why.LATER
    assert [(str(one.rule), one.measured) for one in ruling.broken] == [("too-young", 134)]


def test_what_a_cock_carries_is_told_by_a_test_only(grading: Grading) -> None:
    found = grade_of(grading, "A3")
    assert [(one.kind, one.since) for one in found.unseen] == [(Kind.TEST, None)]
    assert not Kind.TEST.free
    assert Kind.LOOK.free
    assert found.ruling.ground is Ground.PLACE


PARTED_TARGET = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2, P = 0}\n'
LINKED = '[loci.P]\nlinked_to = "O"\nrecombination = 0.04\n'


def test_a_linked_marker_that_shows_is_to_be_looked_at(tmp_path: Path) -> None:
    seen = [*SEEN, dna("AC", "P", 1), dna("AH", "P", 1)]
    birds = (*OLD, *YOUNG[3:5])
    found = graded(tmp_path, birds, LINKED, seen=seen)
    marker, egg = grade_of(found, "A3").unseen
    assert (marker.kind, marker.names, marker.tells) == (Kind.LOOK_NOW, ("P",), "O")
    assert (egg.kind, egg.names) == (Kind.TEST, ("O",))
    assert grade_of(found, "A3").verdict is Verdict.WAIT
    told = [*seen, {"bird": "A3", "locus": "P", "what": "pea", "how": "adult"}]
    found = graded(tmp_path / "told", birds, LINKED, seen=told)
    assert grade_of(found, "A3").unseen == ()
    assert grade_of(found, "A3").verdict is Verdict.KEEP


def test_the_numbers_to_keep(grading: Grading) -> None:
    hens = grading.places["Alder", Sex.HEN]
    assert (hens.penned, hens.wanted, hens.old, hens.young) == (3, 8, 1, 7)
    cocks = grading.places["Pure", Sex.COCK]
    assert (cocks.penned, cocks.wanted, cocks.old, cocks.young) == (2, 5, 2, 3)


def test_half_of_those_to_keep_are_young_at_least() -> None:
    full = Places(line="Alder", sex=Sex.HEN, penned=2, wanted=5, old=9)
    assert full.young == 3


@pytest.mark.parametrize(("factor", "wanted"), [(1.0, 4), (2.0, 6), (3.0, 9)])
def test_the_factor_says_how_many(tmp_path: Path, factor: float, wanted: int) -> None:
    found = graded(tmp_path, factor=factor)
    assert found.places["Alder", Sex.HEN].wanted == wanted
    assert len(found.rounds) <= max(1, factor)


def test_after_the_pens_are_made_up_the_next_spring_counts(tmp_path: Path) -> None:
    found = graded(tmp_path, day=dt.date(2027, 3, 10))
    assert (found.spring.season, str(found.spring.pen_up)) == (2028, "2028-02-01")
    # hatched too late for the pens of 2027; all others were old enough for those
    assert set(verdicts(found)) == {"A6"}
    assert grade_of(found, "A6").ruling.why is Why.UNSEEN


def test_nobody_is_young(tmp_path: Path) -> None:
    found = graded(tmp_path, OLD)
    assert found.grades == ()
    assert found.rounds[0].chosen == frozenset()


def test_wishes_keep_a_bird(tmp_path: Path) -> None:
    birds = (*OLD, *YOUNG, chick("S4", "cock", "S1", "P1", "Pure", status="young"))
    wishes = [
        {"bird": "S4", "with": "", "wish": "rest", "why": "lame"},
        {"bird": "S2", "with": "P1", "wish": "together"},
        {"bird": "A2", "with": "", "wish": "use"},
    ]
    found = graded(tmp_path, birds, wishes=wishes)
    assert grade_of(found, "S2").ruling.ground is Ground.WISH
    assert grade_of(found, "A2").verdict is Verdict.LET_GO  # a defect culls, wished or not
    resting = grade_of(found, "S4").ruling
    assert (resting.verdict, resting.why) == (Verdict.KEEP, Why.REST)


def test_a_wish_of_this_season_does_not_hold_in_the_next(tmp_path: Path) -> None:
    wishes = [{"bird": "A6", "with": "", "wish": "use"}]
    found = graded(tmp_path, day=dt.date(2027, 3, 10), wishes=wishes)
    assert grade_of(found, "A6").ruling.ground is not Ground.WISH


def test_quarantine_past_the_pens_waits(tmp_path: Path) -> None:
    new = cock("S9", hatched="2026-05-01", status="quarantine", release_on="2027-03-01")
    found = graded(tmp_path, (*OLD, *YOUNG, new))
    ruling = grade_of(found, "S9").ruling
    assert (ruling.verdict, ruling.why) == (Verdict.WAIT, Why.LATER)


def test_one_below_a_floor_goes(tmp_path: Path) -> None:
    settings = '[traits.weight]\ndirection = "up"\nfloor = 2000\n'
    scores = [{"bird": "S3", "date": "2026-08-01", "weight": "1500"}]
    found = graded(tmp_path, settings=settings, scores=scores)
    (broken,) = grade_of(found, "S3").ruling.broken
    assert (broken.measured, broken.limit) == (1500.0, 2000.0)
    assert grade_of(found, "S3").verdict is Verdict.LET_GO


KIN = (
    cock("S0"),
    hen("P0"),
    *(chick(f"S{at}", "cock", "S0", "P0", "Pure") for at in range(2, 9)),
    chick("S9", "hen", "S0", "P0", "Pure"),
)


def test_those_too_closely_related_to_every_mate_wait_for_another_but_not_all(
    tmp_path: Path,
) -> None:
    found = graded(tmp_path, KIN, "[lines.Pure]\nfamilies = 1\n", seen=())
    assert {one.ruling.why for one in found.grades} == {Why.NO_MATE}
    cocks = [one for one in found.grades if one.bird.sex is Sex.COCK]
    waiting = [one for one in cocks if one.verdict is Verdict.WAIT]
    assert len(waiting) == 2 * found.places["Pure", Sex.COCK].young
    assert len(waiting) < len(cocks)
    assert grade_of(found, "S9").verdict is Verdict.WAIT


TRIALS = """
[[matings]]
hens = "Alder"
cocks = "Pure"
purpose = "test"
tests = "hen"
[[matings]]
hens = "Pure"
cocks = "Pure"
chicks = "Pure"
purpose = "hold"
"""


def test_one_of_use_in_a_test_mating_only(tmp_path: Path) -> None:
    birds = (*OLD, *YOUNG, chick("A7", "hen", "S0", "AH", "Alder", status="young"))
    found = graded(tmp_path, birds, TRIALS)
    on_trial = grade_of(found, "A7").ruling
    assert (on_trial.verdict, on_trial.why) == (Verdict.WAIT, Why.TRIAL)
    known = grade_of(found, "A1").ruling
    assert (known.verdict, known.why) == (Verdict.LET_GO, Why.NO_MATE)


LETHAL = "[loci.Cp]\nfrequency = {sussex = 0.5}\n"


def test_lethal_chicks_are_a_reason_for_another_mate(tmp_path: Path) -> None:
    found = graded(tmp_path, OLD[:4] + YOUNG[-2:], LETHAL, seen=())
    assert {one.ruling.why for one in found.grades} == {Why.NO_MATE}
    assert {str(broken.rule) for one in found.grades for broken in one.ruling.broken} >= {
        "lethal-chicks"
    }


FRIZZLE = "[loci.F]\nfrequency = {sussex = 0.5}\nlethal = [2]\n"


def test_what_harms_a_hen_alone_does_not_bar_a_bird_of_unknown_sex(tmp_path: Path) -> None:
    """One copy on the only Z of a hen harms her; a cock with one is sound."""
    seen = [*SEEN, dna("S1", "pop", 1), dna("Q", "pop", 1), dna("P0", "pop", 0)]
    birds = (*OLD, chick("Q", "", "S1", "P0", "Pure", status="young"))
    settings = f"{SETTINGS}[loci.pop]\nfrequency = {{sussex = 0.5}}\n"
    found = grade_of(graded(tmp_path, birds, settings, seen=seen), "Q")
    assert {one.sex: bool(one.unfit) for one in found.prospects} == {Sex.HEN: True, Sex.COCK: False}
    assert found.verdict is not Verdict.LET_GO


def test_a_bird_harmed_by_its_own_double_dose_goes(tmp_path: Path) -> None:
    seen = [{"bird": "S2", "locus": "F", "what": "2 copies", "how": "dna"}]
    found = graded(tmp_path, (*OLD[:4], *YOUNG[-2:]), FRIZZLE, seen=seen)
    ruling = grade_of(found, "S2").ruling
    assert (ruling.verdict, ruling.why) == (Verdict.LET_GO, Why.RULED_OUT)
    assert "Frizzle" in str(ruling.broken[0].facts["defect"])


INTERCROSS = '[lines.Alder]\nstep = "intercross"\n[lines.Birch]\nstep = "intercross"\n'


def test_a_carrier_without_a_proven_mate_waits(tmp_path: Path) -> None:
    birds = (
        *OLD,
        cock("BC", "Birch", "sussex:0.75|araucana:0.25"),
        chick("A0", "hen", "AC", "P0", "Alder", O="blue"),
    )
    seen = [*SEEN, dna("BC", "O", 0), dna("AC", "O", 1)]
    found = graded(tmp_path, birds, INTERCROSS, seen=seen)
    ruling = grade_of(found, "A0").ruling
    assert (ruling.verdict, ruling.why) == (Verdict.WAIT, Why.LATER)
    assert ("unproven", "BC") in {(str(one.rule), one.facts.get("bird")) for one in ruling.broken}


ROW = """
[[matings]]
hens = "Alder"
cocks = "Pure"
chicks = "Alder"
purpose = "backcross"
keep = { O = [1] }
every = 2
from = %d
[[matings]]
hens = "Pure"
cocks = "Pure"
chicks = "Pure"
purpose = "hold"
"""


def test_a_line_that_no_crossing_takes(tmp_path: Path) -> None:
    found = graded(tmp_path, settings=ROW % 2027)
    assert (grade_of(found, "A3").verdict, grade_of(found, "A3").ruling.why) == (
        Verdict.LET_GO, Why.NO_MATE
    )  # fmt: skip
    assert grade_of(found, "A0").verdict is Verdict.KEEP


def test_a_line_whose_crossings_rest_waits(tmp_path: Path) -> None:
    found = graded(tmp_path, settings=ROW % 2026)
    ruling = grade_of(found, "A0").ruling
    assert (ruling.verdict, ruling.why) == (Verdict.WAIT, Why.LATER)
    assert grade_of(found, "A1").verdict is Verdict.LET_GO  # white-laying, whatever the season


FAMILIES = (
    *(cock(f"S{at}") for at in range(3)),
    *(hen(f"P{at}") for at in range(4)),
    cock("AC", "Alder", HALF),
    *(chick(f"A{at}", "hen", "AC", f"P{at // 6}", "Alder", O="blue") for at in range(18)),
    *(chick(f"C{at}", "cock", "AC", f"P{at % 2}", "Alder", status="young") for at in range(8)),
)
FEW = "[lines.Alder]\nchicks_wanted = 6\nfamilies = 2\n"
ONE_PEN = [{"pen": "Yard", "hens_max": "2"}]


@pytest.fixture(scope="module")
def crowded(tmp_path_factory: pytest.TempPathFactory) -> Grading:
    path = tmp_path_factory.mktemp("crowded") / "flock"
    return graded(path, FAMILIES, FEW, seen=SEEN[:1], pens=ONE_PEN)


def test_no_family_is_lost_and_none_fills_all_places(crowded: Grading) -> None:
    kept = [one for one in crowded.of(Verdict.KEEP) if one.bird.sex is Sex.HEN]
    families = {one.family for one in kept}
    assert families == {"AC × P0", "AC × P1", "AC × P2"}
    places = crowded.places["Alder", Sex.HEN]
    most = max(sum(one.family == family for one in kept) for family in families)
    assert most <= -(-places.young // 2)
    full = [one for one in crowded.of(Verdict.LET_GO) if one.ruling.why is Why.FULL]
    assert {one.bird.sex for one in full} >= {Sex.HEN}


def test_cocks_wait_for_a_test_until_it_is_sure_enough_that_one_carries(crowded: Grading) -> None:
    cocks = [one for one in crowded.grades if one.bird.sex is Sex.COCK]
    waiting = [one for one in cocks if one.verdict is Verdict.WAIT]
    kept = [one for one in cocks if one.verdict is Verdict.KEEP]
    gone = [one for one in cocks if one.verdict is Verdict.LET_GO]
    places = crowded.places["Alder", Sex.COCK]
    assert sum(one.best.chance for one in kept) >= places.young - 1e-9
    assert not waiting  # the places are filled by chance, two for each
    assert len(gone) == len(cocks) - len(kept)


def test_spare_cocks_by_the_rule_of_thumb(crowded: Grading) -> None:
    kept = sum(one.bird.sex is Sex.COCK for one in crowded.of(Verdict.KEEP))
    needed = crowded.cocks_penned + spares_for(crowded.cocks_penned)
    assert kept + crowded.cocks_old >= needed


def test_chicks_without_a_status_are_no_breeders(tmp_path: Path) -> None:
    bare = tuple(
        chick(f"A{at}", "hen", "AC", "P0", "Alder", hatched="2026-09-01") for at in range(30)
    )
    found = graded(tmp_path, (*OLD, *bare), settings="")
    assert found.table.needs["Alder"].chicks_wanted == pytest.approx(5.0)  # of two old birds


TARN = (
    cock("H0", "Ham", "hamburgh", hatched="2024-03-01"),
    cock("H1", "Ham", "hamburgh"),
    hen("H2", "Ham", "hamburgh"),
    hen("D0", "Choc", "orpington", choc="chocolate", hatched="2024-03-01"),
    chick("C0", "cock", "H0", "D0", "Choc", hatched="2025-04-01"),
    chick("C1", "", "C0", "H2", "Choc", choc="chocolate", hatched="2026-09-20"),
    chick("C2", "hen", "H1", "D0", "Choc"),
    chick("C3", "cock", "H1", "D0", "Choc"),
)
TOP = 'season = 2027\nrecurrent = "hamburgh"\ntarget = {choc = 2}\n'


@pytest.fixture(scope="module")
def chocolate(tmp_path_factory: pytest.TempPathFactory) -> Grading:
    table = judged(tmp_path_factory.mktemp("choc") / "flock", TARN, top=TOP)
    return verbs.grade(table, DAY)


def test_what_it_shows_may_tell_the_sex(chocolate: Grading) -> None:
    (only,) = grade_of(chocolate, "C1").prospects
    assert only.sex is Sex.HEN  # a chocolate cock would need a second copy, and H2 has none


def test_a_hen_without_her_sires_gene_goes_and_her_brother_stays(chocolate: Grading) -> None:
    assert grade_of(chocolate, "C2").verdict is Verdict.LET_GO
    assert grade_of(chocolate, "C3").verdict is Verdict.KEEP


SCORED = '[traits.weight]\ndirection = "up"\nweight = 0.3\n'


def surplus(path: Path, *scores: dict[str, str], day: dt.date = dt.date(2026, 7, 1)) -> Grading:
    more = tuple(chick(f"S{at}", "hen", "S1", "P0", "Pure", status="young") for at in range(3, 13))
    settings = SCORED + "[lines.Pure]\nfamilies = 1\nchicks_wanted = 2\n"
    earlier = [
        {"bird": "E1", "date": "2025-07-10", "weight": "2000"},
        {"bird": "E2", "date": "2025-07-20", "weight": "2100"},
    ]
    old = (*OLD[:4], hen("E1", hatched="2025-03-20"), hen("E2", hatched="2025-03-20"))
    pens = [{"pen": "Yard", "hens_max": "1"}]
    rows = [*earlier, *scores]
    return graded(path, (*old, *more), settings, seen=(), scores=rows, pens=pens, day=day)


def test_surplus_waits_for_the_scores_of_its_hatch(tmp_path: Path) -> None:
    found = surplus(tmp_path)
    waiting = [one for one in found.grades if one.ruling.why is Why.SCORES]
    assert waiting
    (scores,) = waiting[0].unseen
    assert scores.kind is Kind.SCORES
    assert scores.names == ("weight",)
    assert str(scores.since) == "2026-07-27"  # at 117 days, as was usual
    kept_or_waiting = [one for one in found.grades if one.verdict is not Verdict.LET_GO]
    places = found.places["Pure", Sex.HEN]
    assert len(kept_or_waiting) <= 2 * places.young
    assert any(one.ruling.why is Why.FULL for one in found.grades)


def test_where_nothing_was_ever_scored_birds_are_judged_by_24_weeks(tmp_path: Path) -> None:
    found = graded(tmp_path, settings=SCORED, day=dt.date(2026, 9, 1))
    to_come = {
        one.bird.band: unseen.since
        for one in found.grades
        for unseen in one.unseen
        if unseen.kind is Kind.SCORES
    }
    assert to_come["S2"] == dt.date(2026, 4, 1) + dt.timedelta(weeks=24)
    assert "A6" not in to_come  # not hatched yet


def test_once_the_hatch_is_scored_surplus_goes(tmp_path: Path) -> None:
    found = surplus(tmp_path, {"bird": "S5", "date": "2026-06-30", "weight": "1900"})
    assert not [one for one in found.grades if one.ruling.why is Why.SCORES]


def test_scores_are_not_waited_for_for_ever(tmp_path: Path) -> None:
    found = surplus(tmp_path, day=dt.date(2026, 10, 1))
    assert not [one for one in found.grades if one.ruling.why is Why.SCORES]


def test_a_look_that_could_be_had_now(tmp_path: Path) -> None:
    birds = (*OLD, chick("A7", "hen", "AC", "P0", "Alder", status="young"))
    found = graded(tmp_path, birds)
    (look,) = grade_of(found, "A7").unseen
    assert (look.kind, look.since, look.at_lay) == (Kind.LOOK_NOW, None, True)
    assert grade_of(found, "A7").verdict is Verdict.WAIT


def test_without_time_verdicts_are_the_same_and_worths_missing(tmp_path: Path) -> None:
    table = judged(tmp_path, (*OLD, *YOUNG), seen=SEEN)
    watch = Watch()
    watch.stop()
    hurried = verbs.grade(table, DAY, watch=watch)
    patient = verbs.grade(table, DAY, patience=60)
    assert verdicts(hurried) == verdicts(patient)
    assert all(one.worth is None for one in hurried.grades)
    assert any(one.worth is not None for one in patient.grades)


def test_minimums_that_no_plan_meets_are_left_out(tmp_path: Path) -> None:
    settings = "[lines.Alder]\nhens_min = 30\n"
    found = graded(tmp_path, settings=settings)
    assert not found.rounds[0].minimums
    assert grade_of(found, "A0").choice == 1


def test_a_bird_without_which_minimums_fail_is_needed(tmp_path: Path) -> None:
    birds = (*OLD[:4], chick("A0", "hen", "S0", "AH", "Alder", O="blue"), OLD[5])
    birds = (*birds[:-1], hen("AH", "Alder", HALF, status="dead", left_on="2026-09-01"))
    found = graded(tmp_path, birds, "[lines.Alder]\nhens_min = 1\n", seen=SEEN[1:])
    worth = grade_of(found, "A0").worth
    assert worth is not None
    assert worth.needed
    assert worth.told


def test_young_birds_without_a_hatch_date_are_named(tmp_path: Path) -> None:
    odd = chick("A8", "hen", "AC", "P0", "Alder", hatched="", status="young")
    assert graded(tmp_path, (*OLD, odd)).undated == ("A8",)


def test_where_no_plan_is_possible_the_standing_one_counts(tmp_path: Path) -> None:
    birds = (
        *(hen(f"P{at}") for at in range(3)),
        cock("S0", status="dead", left_on="2026-10-01"),
        chick("S2", "", "S0", "P0", "Pure", hatched="2026-09-30"),
        chick("S3", "hen", "S0", "P0", "Pure"),
    )
    plan = [{"pen": "Yard", "cock": "S0", "hen": f"P{at}"} for at in range(3)]
    found = graded(tmp_path, birds, "[lines.Pure]\nfamilies = 1\n", seen=(), plan=plan)
    assert found.rounds == ()
    assert found.places["Pure", Sex.HEN].penned == 3
    assert grade_of(found, "S3").verdict is Verdict.WAIT  # no mate is here


def test_dna_dated_later_is_not_known_before(tmp_path: Path) -> None:
    seen = [*SEEN, {**dna("A3", "O", 0), "date": "2026-10-20"}]
    before = graded(tmp_path, seen=seen, day=dt.date(2026, 10, 19))
    assert grade_of(before, "A3").verdict is Verdict.KEEP
    after = graded(tmp_path, seen=seen, day=dt.date(2026, 10, 20))
    assert grade_of(after, "A3").verdict is Verdict.LET_GO


def pullets(path: Path, number: int, **asked: Any) -> Grading:
    """Pullets that will lay within weeks, for one place in a small pen."""
    unseen = tuple(
        chick(
            f"B{at:02}",
            "hen",
            "AC",
            f"P{at % 2}",
            "Alder",
            hatched="2026-07-01",
            clutch=f"k{at % 2}",
        )
        for at in range(number)
    )
    pens = [{"pen": "Yard", "hens_max": "1"}]
    settings = "[lines.Alder]\nchicks_wanted = 3\nfamilies = 2\n"
    return graded(path, (*OLD, *unseen), settings, seen=SEEN, pens=pens, **asked)


def test_not_all_may_wait_where_a_line_is_full_many_times_over(tmp_path: Path) -> None:
    found = pullets(tmp_path, 16)
    places = found.places["Alder", Sex.HEN]
    stay = [one for one in found.grades if one.verdict is Verdict.WAIT]
    gone = [one for one in found.grades if one.verdict is Verdict.LET_GO]
    assert sum(one.best.chance for one in stay) <= 2 * places.young + 1e-9
    assert gone
    assert {one.ruling.why for one in gone} == {Why.FULL}
    assert {one.family for one in stay} == {"clutch k0", "clutch k1"}


def test_a_bird_that_can_be_of_neither_sex_beside_the_others_waits(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    table = judged(tmp_path, (*OLD, *YOUNG), seen=SEEN)
    monkeypatch.setattr("matchmaker.grade.grading.as_either_sex", lambda *_: {})
    found = verbs.grade(table, DAY)
    assert grade_of(found, "A5").verdict is Verdict.WAIT
    assert grade_of(found, "A5").bird.sex is None


def test_plans_of_a_large_flock_are_worked_out_closely_enough(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    exact = graded(tmp_path / "a")
    monkeypatch.setattr("matchmaker.grade.rounds.SEARCHED_PAIRS", 0)
    near = graded(tmp_path / "b")
    assert exact.rounds[0].value <= near.rounds[0].bound + 1e-6
    for one, other in zip(near.rounds, exact.rounds, strict=False):
        assert one.value <= one.bound + 1e-9
        assert one.bound - one.value <= 0.2
        if one.problem == other.problem:
            assert one.value - 1e-6 <= other.value <= one.bound + 1e-6


def test_a_search_that_is_stopped_leaves_a_worth_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise SolverStoppedError

    monkeypatch.setattr("matchmaker.grade.worth.Responder.best", stopped)
    found = graded(tmp_path)
    assert all(one.worth is None for one in found.grades)
    assert verdicts(found)["A0"] == "keep"


def test_what_cannot_be_true_of_relatives_brings_no_hope(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = graded(tmp_path, settings="[lines.Alder]\nchicks_wanted = 400\n")
    (prospect,) = grade_of(found, "A4").prospects
    assert hope_of(prospect) > prospect.value

    def clash(*_: object, **__: object) -> None:
        raise LociClashError(("O",))

    monkeypatch.setattr(type(prospect.table.study), "informed", clash)
    assert hope_of(prospect) == prospect.value


def test_a_bird_that_can_be_of_no_such_sex(tmp_path: Path) -> None:
    table = judged(tmp_path, TARN, top=TOP)
    tables = table.study.flock.tables
    assert can_be(tables, ["C1"], Sex.HEN)
    assert not can_be(tables, ["C1"], Sex.COCK)
    assert possible(tables, ["C1", "C2"], Sex.COCK) == ["C2"]
    assert as_either_sex(table, tables, ()) == {}


def test_birds_whose_wanted_gene_has_parted_from_a_near_unwanted_one_go_first(
    tmp_path: Path,
) -> None:
    """Blue eggs and pea comb lie near each other: a blue layer with a single comb is rare."""
    seen = (*SEEN, dna("AC", "P", 1), dna("P0", "P", 0), dna("P1", "P", 0))
    combs = {f"A{at}": "pea" for at in range(10, 18)} | {"A18": "single"}
    birds = (
        *OLD,
        *(
            chick(band, "hen", "AC", "P0", "Alder", O="blue", P=comb, status="young")
            for band, comb in combs.items()
        ),
    )
    table = judged(tmp_path / "flock", birds, SETTINGS + LINKED, PARTED_TARGET, seen=seen)
    found = verbs.grade(table, DAY)
    assert {g.bird.band for g in found.grades if g.best.parted} == {"A18"}
    taken = grade_of(found, "A18").ruling
    assert (taken.verdict, taken.ground) in {
        (Verdict.KEEP, Ground.PARTED),
        (Verdict.KEEP, Ground.CHOICE),
    }
    kept = choose(pool_of(found))
    assert kept.taken[0].band == "A18"
    assert kept.grounds["A18"] is Ground.PARTED


def pool_of(found: Grading) -> Pool:
    """What the choice among the young birds of a grading rests on."""
    prospects = tuple(one for grade in found.grades for one in grade.prospects)
    return Pool(
        prospects=prospects,
        places=found.places,
        choices={},
        families={grade.bird.band: grade.family for grade in found.grades},
    )
