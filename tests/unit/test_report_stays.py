"""The stays that a plan means, and what they change in the moves."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.errors import UsageError
from matchmaker.report.stays import (
    PlannedStay,
    pen_up_amendment,
    pen_up_moves,
    planned_stays,
)
from tests.builders import HOME, HOME_SEEN, TOP, Row, cock, hen, write_flock

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from matchmaker.plan.season.season_plan import SeasonPlan

BIRDS = (*HOME, cock("SD"), hen("SG", status="dead", left_on="2027-02-03"), hen("SR"))
WISHES = [
    {"bird": "SR", "with": "", "wish": "rest", "why": ""},
    {"bird": "SD", "with": "", "wish": "rest", "why": ""},
]
DAY = dt.date(2027, 2, 8)
TURNS: list[Row] = [
    {"pen": "Yard", "hens_max": "6", "until": "2027-03-07"},
    {"pen": "Yard", "hens_max": "6", "from": "2027-03-08"},
    {"pen": "Orchard", "hens_max": "8"},
]


def _stay(band: str, pen: str, since: str, until: str = "") -> Row:
    return {"bird": band, "pen": pen, "moved_in": since, "moved_out": until}


def _plan(path: Path, *moves: Row, top: str = TOP, **tables: Sequence[Row]) -> SeasonPlan:
    """A plan for one pen, the Orchard, or for the pens given."""
    pens = [{"pen": "Orchard", "hens_max": "8"}, {"pen": "Yard", "hens_max": "6", "open": "no"}]
    more = {"moves": moves, **tables} if moves else tables
    found: dict[str, Sequence[Row]] = {"seen": HOME_SEEN, "pens": pens, "wishes": WISHES, **more}
    given = {name: rows for name, rows in found.items() if rows}
    return verbs.plan(verbs.pairs(write_flock(path, BIRDS, "", top, **given), pen_up=DAY))


def _first(plan: SeasonPlan) -> tuple[str, str]:
    """The cock and one hen of the Orchard."""
    (pen,) = plan.pens
    return pen.cock, pen.pairs[0].hen


def test_every_bird_of_the_plan_stays_in_its_pen_the_cock_first(tmp_path: Path) -> None:
    plan = _plan(tmp_path)
    (pen,) = plan.pens
    birds = [pen.cock, *(pair.hen for pair in pen.pairs)]
    assert [stay.bird for stay in planned_stays(plan)] == birds
    assert {(stay.pen, stay.first, stay.last) for stay in planned_stays(plan)} == {
        ("Orchard", DAY, None)
    }
    found = pen_up_moves(plan)
    assert (found.ends, found.leaving) == ({}, ())
    assert found.comes == planned_stays(plan)


def test_who_is_elsewhere_leaves_and_who_is_there_stays(tmp_path: Path) -> None:
    cock_band, hen_band = _first(_plan(tmp_path / "plain"))
    plan = _plan(
        tmp_path / "moved",
        _stay(cock_band, "Yard", "2026-10-01"),
        _stay(hen_band, "Orchard", "2026-12-01"),
        _stay(hen_band, "Yard", "2026-10-01", "2026-12-01"),
    )
    found = pen_up_moves(plan)
    assert found.ends == {2: DAY}
    coming = {stay.bird for stay in found.comes}
    assert cock_band in coming
    assert coming == {stay.bird for stay in planned_stays(plan)} - {hen_band}


def test_who_is_not_in_the_plan_has_to_leave_its_pens(tmp_path: Path) -> None:
    plan = _plan(
        tmp_path,
        _stay("SR", "Orchard", "2026-10-01"),
        _stay("SD", "Yard", "2026-10-01"),
        _stay("SG", "Orchard", "2026-10-01"),
    )
    found = pen_up_moves(plan)
    assert found.leaving == (("SR", "Orchard"),)
    gone = dt.date(2027, 2, 3)
    assert found.ends == {2: DAY, 4: gone}


@pytest.mark.parametrize(
    ("band", "stay"),
    [
        ("SR", ("Orchard", "2027-02-09")),
        ("cock", ("Yard", "2027-02-09")),
        ("cock", ("Yard", "2026-10-01", "2027-02-20")),
        ("cock", ("Orchard", "2026-10-01", "2027-02-20")),
        ("cock", ("Yard", "2027-03-01", "2027-03-20")),
    ],
)
def test_moves_after_that_day_are_not_written_over(
    tmp_path: Path, band: str, stay: tuple[str, ...]
) -> None:
    who = _first(_plan(tmp_path / "plain"))[0] if band == "cock" else band
    plan = _plan(tmp_path / "moved", _stay(who, *stay))
    with pytest.raises(UsageError, match=rf"moves\.csv, row 2: {who} .*on a later day"):
        pen_up_moves(plan)


def test_days_are_written_as_the_keeper_writes_his(tmp_path: Path) -> None:
    plan = _plan(tmp_path, _stay("SR", "Orchard", "2026-10-01"), top=TOP + 'dates = "day-first"\n')
    change = pen_up_amendment(plan, pen_up_moves(plan))
    assert change.cells == {(2, "moved_out"): "08/02/2027"}
    assert {row["moved_in"] for row in change.added} == {"08/02/2027"}
    assert {row["moved_out"] for row in change.added} == {""}


def test_stays_last_as_long_as_the_turn_of_the_pen(tmp_path: Path) -> None:
    plan = _plan(tmp_path, pens=TURNS, wishes=[])
    spans = {
        (stay.pen, stay.first, stay.last) for stay in planned_stays(plan) if stay.pen == "Yard"
    }
    assert spans == {
        ("Yard", DAY, dt.date(2027, 3, 7)),
        ("Yard", dt.date(2027, 3, 8), None),
    }


def test_stays_of_turns_are_known_again(tmp_path: Path) -> None:
    """Those of the first turn are there already, one of them without its last day."""
    plain = _plan(tmp_path / "plain", pens=TURNS, wishes=[])
    stays = planned_stays(plain)
    rows = [_stay(s.bird, s.pen, f"{s.first}", f"{s.last or ''}") for s in stays]
    at = next(at for at, stay in enumerate(stays) if stay.last is not None)
    rows[at] = {**rows[at], "moved_in": "2026-12-01", "moved_out": ""}
    plan = _plan(tmp_path / "again", *rows, pens=TURNS, wishes=[])
    assert set(planned_stays(plan)) == set(stays)
    found = pen_up_moves(plan)
    assert (found.comes, found.ends) == ((), {at + 2: stays[at].last})


def test_a_bird_of_a_later_turn_stays_elsewhere_until_then(tmp_path: Path) -> None:
    """From a pen of the plan it goes at once, from any other when its own turn begins."""
    late = dt.date(2027, 3, 8)
    pens = [
        {"pen": "Yard", "hens_max": "6", "from": f"{late}"},
        {"pen": "Shed", "hens_max": "3", "open": "no"},
    ]
    for pen, end in (("Shed", late), ("Yard", DAY)):
        plan = _plan(tmp_path / pen, _stay("SC", pen, "2026-10-01"), pens=pens)
        assert PlannedStay(bird="SC", pen="Yard", first=late) in planned_stays(plan)
        found = pen_up_moves(plan)
        assert (found.ends, found.comes) == ({2: end}, planned_stays(plan))
