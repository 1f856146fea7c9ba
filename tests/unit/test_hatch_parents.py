"""Whose the chicks of a set are, beside calendars reckoned by hand."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker.errors import UsageError
from matchmaker.report.hatch_words import parents_sentences
from tests.builders import cock, hen
from tests.unit.hatch_flocks import BIRDS, STAYS, chicks, flock, hatched, stay, told

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.hatch.parents import Parents
    from tests.builders import Row

WEEK = (dt.date(2027, 2, 23), dt.date(2027, 3, 1))


def parents(path: Path, moves: list[Row] | None = None, tables: Any = None, **more: Any) -> Parents:
    folder = flock(path, STAYS if moves is None else moves, **(tables or {}))
    answer = hatched(folder, told(**{"collected": WEEK, **more}))
    return answer.prepared.hatches[0].parents


def bands(weights: tuple[tuple[str, Fraction], ...]) -> list[str]:
    return [band for band, _ in weights]


def test_one_cock_all_along(tmp_path: Path) -> None:
    found = parents(tmp_path)
    assert (found.sire, found.dam, found.in_pen) == ("AC", "", ("AC",))
    assert found.dams == (("S1", Fraction(1, 2)), ("S2", Fraction(1, 2)))


# A hen's former cock goes on the day in the first column; his last chick is laid 20 days later, so
# of eggs collected from 23 February on he is possible where he went on 3 February or later.
@pytest.mark.parametrize(
    ("left", "sires"),
    [
        ("2027-01-20", ["AC"]),
        ("2027-02-02", ["AC"]),
        ("2027-02-03", ["AC", "SD"]),
        ("2027-02-10", ["AC", "SD"]),
    ],
)
def test_a_hen_brings_her_former_cock(tmp_path: Path, left: str, sires: list[str]) -> None:
    moves = [
        stay("AC", "Orchard", "2027-01-01"),
        stay("S1", "Orchard", "2027-01-01"),
        stay("SD", "Yard", "2027-01-01"),
        stay("S2", "Yard", "2027-01-01", left),
        stay("S2", "Orchard", left),
    ]
    found = parents(tmp_path, moves)
    assert bands(found.sires) == sires
    assert len({weight for _, weight in found.sires}) == 1
    if len(sires) > 1:
        ended = next(met.last for met in found.meetings if met.cock == "SD")
        assert ended == dt.date.fromisoformat(left)
        said = " ".join(parents_sentences(found))
        assert "AC or SD" in said
        assert "S2 was with SD until" in said
    else:
        assert [met.cock for met in found.others] == ["SD"]


@pytest.mark.parametrize(
    ("first", "last", "sires"),
    [
        ((2, 13), (2, 19), ["AC"]),
        ((3, 1), (3, 6), ["AC", "SD"]),
        ((3, 19), (3, 22), ["AC", "SD"]),
        ((3, 20), (3, 26), ["AC", "SD"]),
        ((3, 21), (3, 27), ["SD"]),
    ],
)
def test_cocks_one_after_the_other(
    tmp_path: Path, first: tuple[int, int], last: tuple[int, int], sires: list[str]
) -> None:
    """AC is taken out on 28 February and SD put in: 20 March is the last day for AC's chicks."""
    moves = [
        stay("AC", "Orchard", "2027-02-01", "2027-02-28"),
        stay("SD", "Orchard", "2027-02-28"),
        stay("S1", "Orchard"),
    ]
    days = (dt.date(2027, *first), dt.date(2027, *last))
    found = parents(tmp_path, moves, set_on=days[1], collected=days)
    assert bands(found.sires) == sires
    assert found.dam == "S1"


def test_hens_count_by_their_days(tmp_path: Path) -> None:
    """S2 leaves on 24 February: two of the seven days are hers."""
    moves = [*STAYS[:2], stay("S2", "Orchard", until="2027-02-24")]
    found = parents(tmp_path, moves, hatched=9, chicks=chicks("K1"))
    assert found.dams == (("S1", Fraction(7, 9)), ("S2", Fraction(2, 9)))


def test_a_hen_that_died_lays_no_more(tmp_path: Path) -> None:
    birds = [*BIRDS[:3], hen("S2", status="dead", left_on="2027-02-20"), *BIRDS[4:]]
    assert bands(parents(tmp_path, tables={"birds": birds}).dams) == ["S1"]


def test_the_plan_stands_in_where_nobody_is_written(tmp_path: Path) -> None:
    plan = [
        {"pen": "Orchard", "line": "Alder", "cock": "AC", "hen": band, "why": ""}
        for band in ("S1", "S2")
    ]
    found = parents(tmp_path, [], {"plan": plan})
    assert found.from_plan
    assert (found.sire, bands(found.dams)) == ("AC", ["S1", "S2"])


def test_an_older_plan_is_refused(tmp_path: Path) -> None:
    plan = [{"pen": "Orchard", "line": "Alder", "cock": "OLD", "hen": "S1", "why": ""}]
    birds = [*BIRDS, cock("OLD", status="sold", left_on="2026-09-01")]
    tables = {"plan": plan, "birds": birds}
    with pytest.raises(UsageError, match=r"the plan is an older one: OLD \(row 2\)"):
        parents(tmp_path, [], tables)
    named = parents(tmp_path, [], tables, dam="S1", sire="SC", hatched=3, chicks=chicks("K1"))
    assert (named.sire, named.dam, named.said) == ("SC", "S1", True)


def test_a_named_hen_is_the_dam(tmp_path: Path) -> None:
    assert parents(tmp_path, dam="S2").dam == "S2"


def test_the_keepers_word_goes_first_and_the_book_is_told_beside_it(tmp_path: Path) -> None:
    said: dict[str, Any] = {"sire": "AC:0.7|SD:0.3", "line": "Alder"}
    found = parents(tmp_path, hatched=3, chicks=chicks("K1"), **said)
    assert found.sires == (("AC", Fraction(7, 10)), ("SD", Fraction(3, 10)))
    assert "Sire: AC or SD, as you say; by the tables AC." in list(parents_sentences(found))


def test_without_a_day_it_is_the_week_before_setting(tmp_path: Path) -> None:
    found = parents(tmp_path, collected=None)
    assert (found.first, found.last, found.assumed) == (*WEEK, True)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (
            {"pen": "Yard", "collected": (dt.date(2027, 1, 24), dt.date(2027, 1, 31))}
            | {"set_on": dt.date(2027, 2, 1)},
            "has a hen in",
        ),
        ({"dam": "A1"}, "by the tables she was not in pen Orchard"),
        ({"dam": "SC"}, "it is a cock in birds.csv"),
        ({"dam": "ZZ"}, "no such bird"),
        ({"sire": "ZZ", "hatched": 3, "chicks": chicks("K1")}, "no such bird"),
        ({"sire": "founder", "hatched": 3, "chicks": chicks("K1")}, "this names no cock"),
        ({"set_on": None, "eggs": None, "hatched": 3}, "not told when the eggs were set"),
    ],
)
def test_refusals_say_what_is_wrong(tmp_path: Path, more: dict[str, Any], says: str) -> None:
    with pytest.raises(UsageError, match=says):
        parents(tmp_path, **more)


def test_no_cock_at_all_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no cock was with the hens"):
        parents(tmp_path, [stay("S1", "Orchard")])


def test_a_plan_of_crossings_that_are_not_open_is_an_older_one(tmp_path: Path) -> None:
    """Carrier with carrier, in a season in which both lines are backcrossed."""
    plan = [{"pen": "Orchard", "line": "Alder", "cock": "AC", "hen": "A1", "why": ""}]
    with pytest.raises(UsageError, match=r"older one: no row .* takes A1 with AC \(row 2\)"):
        parents(tmp_path / "closed", [], {"plan": plan})
    allowed = [{"bird": "A1", "with": "AC", "wish": "allow", "why": "our only pair"}]
    found = parents(tmp_path / "allowed", [], {"plan": plan, "wishes": allowed})
    assert found.sire == "AC"
