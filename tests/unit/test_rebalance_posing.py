"""What the problem of a loss is posed from: caps, wishes, room, periods, by small sums of our own.

Seventy days of eggs, 8 February to 18 April 2027, in which a hen raises 24.48 chicks: 4 eggs a week
of which 0.612 become a chick that is reared. All flocks are invented.
"""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdUsed,
    Candidate,
    PairTogether,
)
from matchmaker.rebalance.morning import standing_pens
from matchmaker.rebalance.posing import pose_response, unmoved
from matchmaker.rebalance.responding import Responder
from matchmaker.rebalance.season import FlockSeason, judged_on
from matchmaker.rebalance.standing import lose
from tests.builders import cock, hen, judged, write_flock
from tests.builders import table as table_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from matchmaker.rebalance.posing import Posed
    from tests.builders import Row

YEAR = "[year]\npen_up = 2027-02-01\ncollect_from = 2027-02-08\ncollect_until = 2027-04-18\n"
A_DAY = 24.48 / 70
"""Chicks of a hen for each day of eggs."""

DAY = dt.date(2027, 3, 20)
"""Forty days of eggs are over, thirty are left."""

BIRDS = (*(cock(f"S{place}") for place in (1, 2, 3)), *(hen(f"H{place}") for place in range(1, 6)))
STAND = {"Yard": ("S1", "H1", "H2"), "Orchard": ("S2", "H3")}
PENS: tuple[Row, ...] = ({"pen": "Yard", "hens_max": "6"}, {"pen": "Orchard", "hens_max": "8"})

FADING = sum((18.5 - gone) / 11.5 for gone in range(8, 15))
"""What the second week of eggs by a cock that has gone is worth, in days of full fertility."""

STILL = 8 + FADING
"""A hen left today lays for today and a week in full, then for the second week."""


def stays(stand: Mapping[str, Sequence[str]]) -> list[Row]:
    return [
        {"bird": bird, "pen": pen, "moved_in": "2027-02-01"}
        for pen, birds in stand.items()
        for bird in birds
    ]


def posed(
    path: Path,
    settings: str = "",
    *lost: str,
    day: dt.date = DAY,
    closed: Sequence[str] = (),
    birds: Sequence[Row] = BIRDS,
    stand: Mapping[str, Sequence[str]] = STAND,
    pens: Sequence[Row] = PENS,
    wishes: Sequence[Row] = (),
) -> Posed:
    """The problem of a folder's pens with birds lost and pens closed on a day."""
    folder = write_flock(path, birds, YEAR + settings, pens=pens, moves=stays(stand))
    if wishes:
        (folder / "wishes.csv").write_text(table_of(wishes), encoding="utf-8")
    table = verbs.pairs(folder)
    standing = standing_pens(table.study.flock, day)
    after = lose(standing, dict.fromkeys(lost, day), frozenset(closed))
    season = FlockSeason(table=judged_on(table.study, day), gone=frozenset(lost))
    return pose_response(season, after)


def of_hen(found: Posed, hen: str, cock: str) -> Candidate:
    """The only pair of two birds."""
    (one,) = (p for p in found.problem.candidates if (p.hen, p.cock) == (hen, cock))
    return one


def pure(chicks: float, families: int = 4, more: str = "") -> str:
    return f"[lines.Pure]\nchicks_wanted = {chicks}\nfamilies = {families}\n{more}"


# The cap on what one hen may count for.


def test_what_a_hen_has_laid_counts_towards_what_she_may_count_for(tmp_path: Path) -> None:
    """Five families of 100: 20 of each hen. She has 13.989; of the 10.491 to come 6.011 count."""
    found = posed(tmp_path, pure(100, families=5))
    (had,) = (one for one in found.bank.had if one.hen == "H1")
    assert had.value == pytest.approx(round(40 * A_DAY, 3))
    still = found.bank.still["H1"]
    assert still.value == pytest.approx(STILL * A_DAY, abs=0.001)
    assert had.value + still.value + of_hen(found, "H1", "S1").value == pytest.approx(20, abs=0.002)
    total = sum(one.wanted for one in (had, still, of_hen(found, "H1", "S1")))
    assert total == pytest.approx(24.48)


def test_a_hen_that_has_had_her_share_counts_no_more_with_any_cock(tmp_path: Path) -> None:
    """Four families of 40: ten of each hen. H4, who has laid for nobody, still has all ten."""
    found = posed(tmp_path, pure(40), "S1")
    assert found.bank.before["H1", "Pure"] == pytest.approx(40 * A_DAY)
    assert {one.value for one in found.bank.had} == {10.0}
    assert {one.value for one in found.bank.still.values()} == {0.0}
    joined = {one.hen for one in found.problem.candidates if one.turn == "Yard"}
    assert joined == {"H4", "H5"}
    assert of_hen(found, "H4", "S3").value == pytest.approx(9 * A_DAY, abs=0.001)
    assert found.problem.lines[0].banked == 30.0


def test_chicks_by_the_former_cock_take_up_the_hens_share_for_the_next(tmp_path: Path) -> None:
    """S3 comes on 3 April; by then H1 has 17.98 and more of S1: of S3's 3.15 but 1.6 count.

    Five families of 100 are 20 of each hen, and she has 40 days and those still to come.
    """
    found = posed(tmp_path, pure(100, families=5), "S1")
    left = 20 - (40 + STILL) * A_DAY
    assert 0 < left < 9 * A_DAY
    assert of_hen(found, "H1", "S3").value == pytest.approx(left, abs=0.001)
    assert of_hen(found, "H4", "S3").value == pytest.approx(9 * A_DAY, abs=0.001)


# Minimums and room.


def test_minimums_are_lower_by_what_is_banked(tmp_path: Path) -> None:
    """Three hens have 40 days and lay STILL more in any case; half the chicks are of each sex."""
    more = "wanted_min = 70\nwanted_cocks_min = 40\nwanted_hens_min = 20\n"
    (goal,) = posed(tmp_path, pure(100, more=more)).problem.lines
    banked = 3 * (40 + STILL) * A_DAY
    assert goal.wanted_min == pytest.approx(70 - banked)
    assert goal.wanted_cocks_min == pytest.approx(40 - banked / 2)
    assert goal.wanted_hens_min == 0.0, "there are more of them than that"


def test_chicks_on_their_way_take_up_room(tmp_path: Path) -> None:
    room = YEAR + "rearing_room = 90\n"
    table = judged(tmp_path, BIRDS, room + pure(100, families=1), moves=stays(STAND))
    standing = standing_pens(table.study.flock, DAY)
    found = pose_response(FlockSeason(table=judged_on(table.study, DAY)), standing)
    assert found.problem.limits.chicks_max == pytest.approx(90 - 3 * (40 + STILL) * A_DAY)
    assert found.problem.limits.pairs is None


def test_there_is_never_less_than_no_room(tmp_path: Path) -> None:
    table = judged(
        tmp_path, BIRDS, YEAR + "rearing_room = 30\n" + pure(100, families=1), moves=stays(STAND)
    )
    standing = standing_pens(table.study.flock, DAY)
    found = pose_response(FlockSeason(table=judged_on(table.study, DAY)), standing)
    assert found.problem.limits.chicks_max == 0.0


def test_eggs_of_hens_without_a_cock_take_up_room_in_the_incubator(tmp_path: Path) -> None:
    """H1 and H2, whose cock is lost, lay four a week each; H3 goes on with hers."""
    settings = "incubator_per_week = 50\n" + pure(100)
    assert posed(tmp_path, settings, "S1").problem.limits.eggs_max == pytest.approx(50 - 2 * 4)
    assert posed(tmp_path / "all", settings).problem.limits.eggs_max == 50.0


def test_nobody_is_moved_for_limits_that_the_pens_outgrew(tmp_path: Path) -> None:
    """Two hens are in the Yard where one may be, one in the Orchard where two must be."""
    birds = [*(cock(f"S{place}", hens_max="1") for place in (1, 2, 3)), *BIRDS[3:]]
    pens: list[Row] = [
        {"pen": "Yard", "hens_max": "1"},
        {"pen": "Orchard", "hens_max": "8", "hens_min": "2"},
        {"pen": "Coop", "hens_max": "3", "hens_min": "2"},
    ]
    found = posed(tmp_path, pure(100), birds=birds, pens=pens)
    sizes = {kind.turn: (kind.hens_min, kind.hens_max) for kind in found.problem.kinds}
    assert sizes["Yard"][1] == 2
    assert sizes["Orchard"] == (1, 8)
    assert sizes["Coop"] == (2, 3), "nobody stands there"
    assert {one.cock: one.hens_max for one in found.problem.cocks} == {"S1": 2, "S2": 1, "S3": 1}
    assert evaluate(found.problem, unmoved(found)).broken == ()
    answer = Responder(found.problem).best(0)
    assert answer is not None
    assert {pair.hen for pen in answer.pens for pair in pen.pairs} == {"H1", "H2", "H3"}


# Birds in quarantine.


@pytest.mark.parametrize("ill", ["H1", "S1"])
def test_nobody_goes_into_or_out_of_a_pen_with_a_bird_in_quarantine(
    tmp_path: Path, ill: str
) -> None:
    """By the books one of the birds of the Yard is in quarantine. S2 is lost: H3 is free."""
    birds = [
        {**one, "status": "quarantine", "release_on": "2027-05-01"} if one["bird"] == ill else one
        for one in BIRDS
    ]
    folder = write_flock(tmp_path, birds, YEAR + pure(100), pens=PENS, moves=stays(STAND))
    table = verbs.pairs(folder)
    standing = standing_pens(table.study.flock, DAY)
    assert standing.quarantined == {ill: dt.date(2027, 5, 1)}
    assert standing.infected == {"Yard"}
    assert standing.apart == {"S1", "H1", "H2"}
    gone = frozenset({ill, "S2"})
    season = FlockSeason(table=judged_on(table.study, DAY), gone=gone)
    found = pose_response(season, lose(standing, {"S2": DAY}))
    of_yard = {(p.hen, p.cock, p.kept) for p in found.problem.candidates if p.turn == "Yard"}
    assert of_yard == {("H1", "S1", True), ("H2", "S1", True)}
    others = [p for p in found.problem.candidates if p.turn != "Yard"]
    assert {p.cock for p in others} == {"S3"}
    assert {p.hen for p in others} == {"H3", "H4", "H5"}


def test_no_cock_comes_to_a_pen_with_a_bird_in_quarantine(tmp_path: Path) -> None:
    """Both cocks are lost: S3 comes to H3 in the Orchard, nobody to H1, who is ill, and H2."""
    ill = hen("H1", status="quarantine", release_on="2027-05-01")
    birds = [*BIRDS[:3], ill, *BIRDS[4:]]
    table = judged(tmp_path, birds, YEAR + pure(100), pens=PENS, moves=stays(STAND))
    lost = dict.fromkeys(("S1", "S2"), DAY)
    season = FlockSeason(table=judged_on(table.study, DAY), gone=frozenset({"H1", *lost}))
    found = pose_response(season, lose(standing_pens(table.study.flock, DAY), lost))
    assert {one.turn for one in found.problem.candidates} == {"Orchard"}


@pytest.mark.parametrize("closed", [False, True])
def test_a_bird_that_dies_in_quarantine_leaves_its_pen_shut(
    tmp_path: Path,
    closed: bool,  # noqa: FBT001
) -> None:
    """S1 dies of what it was in quarantine for: H1 and H2 go to nobody, nobody comes to them."""
    ill = {**BIRDS[0], "status": "quarantine", "release_on": "2027-05-01"}
    table = judged(tmp_path, [ill, *BIRDS[1:]], YEAR + pure(100), pens=PENS, moves=stays(STAND))
    shut = frozenset({"Yard"}) if closed else frozenset()
    after = lose(standing_pens(table.study.flock, DAY), {"S1": DAY}, shut)
    assert after.infected == {"Yard"}
    season = FlockSeason(table=judged_on(table.study, DAY), gone=frozenset({"S1"}))
    found = pose_response(season, after)
    assert not {"H1", "H2"} & {one.hen for one in found.problem.candidates}
    assert "Yard" not in {one.turn for one in found.problem.candidates}


def test_a_quarantine_that_is_over_keeps_nobody_apart(tmp_path: Path) -> None:
    birds = [*BIRDS[:3], hen("H1", status="quarantine", release_on=str(DAY)), *BIRDS[4:]]
    flock = judged(tmp_path, birds, YEAR, pens=PENS, moves=stays(STAND)).study.flock
    assert standing_pens(flock, DAY - dt.timedelta(days=1)).infected == {"Yard"}
    assert standing_pens(flock, DAY).infected == frozenset()


# Wishes.


def wish(bird: str, kind: str, partner: str = "") -> Row:
    return {"bird": bird, "with": partner, "wish": kind, "why": "ours"}


def names(wishes: Sequence[Any]) -> list[str]:
    return [one.name for one in wishes]


def test_a_wish_for_a_lost_mate_is_dropped_and_named(tmp_path: Path) -> None:
    wishes = [wish("H1", "together", "S1"), wish("H3", "together", "S2")]
    found = posed(tmp_path, pure(100), "S1", wishes=wishes)
    assert [(one.hen, one.cock) for one in found.dropped if isinstance(one, PairTogether)] == [
        ("H1", "S1")
    ]
    assert names(found.dropped) == ["wish in row 2: H1 together S1"]
    assert names(found.problem.demands) == ["wish in row 3: H3 together S2"]


def test_a_wish_that_a_bird_be_used_is_fulfilled_by_its_eggs(tmp_path: Path) -> None:
    """H1 and H5 are lost: H1 has laid for forty days, H5 never."""
    wishes = [wish("H1", "use"), wish("H5", "use"), wish("H3", "use")]
    found = posed(tmp_path, pure(100), "H1", "H5", wishes=wishes)
    assert [(one.name, isinstance(one, BirdUsed)) for one in found.dropped] == [
        ("wish in row 3: H5 use", True)
    ]
    assert names(found.problem.demands) == ["wish in row 4: H3 use"]


def test_a_wish_about_a_pen_that_is_closed_is_dropped(tmp_path: Path) -> None:
    """H3 can come into it no more: her wish is kept, and nothing is to be said of it."""
    wishes = [wish("H1", "together", "Yard"), wish("H3", "apart", "Yard")]
    found = posed(tmp_path, pure(100), closed=["Yard"], wishes=wishes)
    assert [one.pen for one in found.dropped if isinstance(one, BirdInPen)] == ["Yard"]
    assert len(found.dropped) == 1
    assert found.problem.demands == ()
    assert posed(tmp_path / "open", pure(100), wishes=wishes).dropped == ()


# Pairs that break a rule.


def test_a_standing_pair_that_breaks_a_rule_is_tolerated_for_nothing(tmp_path: Path) -> None:
    """H1 is culled for her comb; she stays with S1, counts nothing, and is no move."""
    birds = [*BIRDS[:3], hen("H1", defects="wry tail"), *BIRDS[4:]]
    found = posed(tmp_path, pure(100), birds=birds)
    hers, other = of_hen(found, "H1", "S1"), of_hen(found, "H2", "S1")
    assert (hers.value, hers.wanted, hers.kept, hers.turn) == (0.0, 0.0, True, "Yard")
    assert other.value > 0
    assert "H1" not in {
        one.hen for one in (*found.bank.had, *found.bank.still.values()) if one.value
    }
    answer = Responder(found.problem).best(0)
    assert answer is not None
    assert answer.moved == ()
    stay = {pair.hen for pen in answer.pens for pair in pen.pairs if pen.pen == "Yard"}
    assert stay == {"H1", "H2"}


# Pens with periods.


def test_a_pen_that_is_not_open_on_the_day_gets_nobody(tmp_path: Path) -> None:
    pens: list[Row] = [
        *PENS,
        {"pen": "Late", "hens_max": "4", "from": "2027-03-21"},
        {"pen": "Past", "hens_max": "4", "until": "2027-03-19"},
        {"pen": "Now", "hens_max": "4", "from": "2027-03-20"},
        {"pen": "Shut", "hens_max": "4", "open": "no"},
    ]
    found = posed(tmp_path, pure(100), pens=pens)
    assert {pen for kind in found.problem.kinds for pen in kind.pens} == {"Yard", "Orchard", "Now"}
    assert {one.turn for one in found.problem.candidates} == {"Yard", "Orchard", "Now"}


def test_birds_in_a_pen_that_is_over_are_counted_nowhere(tmp_path: Path) -> None:
    pens: list[Row] = [{**PENS[0], "until": "2027-03-19"}, PENS[1]]
    found = posed(tmp_path, pure(100), pens=pens)
    assert found.problem.moves is not None
    assert set(found.problem.moves.places) == {("S2", "Orchard"), ("H3", "Orchard")}
    assert {one.turn for one in found.problem.candidates} == {"Orchard"}


def test_a_pen_that_closes_earlier_counts_fewer_days(tmp_path: Path) -> None:
    """Until 31 March: 12 of 30 days for H1, 5 for H4, who comes today and lays from 27 March."""
    pens: list[Row] = [{**PENS[0], "until": "2027-03-31"}, PENS[1]]
    found = posed(tmp_path, pure(100, families=1), pens=pens)
    still = found.bank.still["H1"]
    assert of_hen(found, "H1", "S1").value + still.value == pytest.approx(12 * A_DAY, abs=0.002)
    assert of_hen(found, "H4", "S1").value == pytest.approx(5 * A_DAY, abs=0.001)
    assert of_hen(found, "H4", "S2").value == pytest.approx(23 * A_DAY, abs=0.001)
