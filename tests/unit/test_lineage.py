"""Who may be the parent of whom: founders, unknown parents, pools and lines."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest

from matchmaker.flock.lineage import SOURCE_BASE
from matchmaker.flock.pedigree import Pool
from tests.builders import Row, bird, chick, cock, flock_of, hen

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.flock.flock import Flock
    from matchmaker.flock.pedigree import Links

SUSSEX, ARAUCANA = Pool("sussex"), Pool("araucana")
Parents = dict[Pool | str, float]


def sides(flock: Flock, band: str) -> tuple[Parents, Parents]:
    """Return the possible sires and dams of a bird, by band or pool."""
    pedigree = flock.pedigree
    names: list[Pool | str] = [*pedigree.pools, *pedigree.birds]
    at = pedigree.birds.index(band)

    def named(links: Links) -> Parents:
        return {names[node]: chance for node, chance in links}

    return named(pedigree.sires[at]), named(pedigree.dams[at])


def unknown(band: str, sex: str = "hen", line: str = "Pure", **cells: str) -> Row:
    return bird(band, sex, line, **{"sire": "", "dam": "", "hatched": "2026-04-01", **cells})


OLD = (cock("SC"), hen("SH"), hen("SH2", hatched="2024-03-01"))


def test_a_founder_comes_from_the_pool_of_its_breed(tmp_path: Path) -> None:
    assert sides(flock_of(tmp_path, OLD), "SH") == ({SUSSEX: 1.0}, {SUSSEX: 1.0})


def test_a_founder_of_a_source_comes_from_that_source(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, [*OLD, hen("X", source="Hill")])
    assert sides(flock, "X") == ({Pool("sussex", "Hill"): 1.0},) * 2


def test_a_crossbred_founder_draws_each_gamete_from_its_breeds(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, [*OLD, hen("X", breed="sussex:0.75|araucana:0.25")])
    assert sides(flock, "X") == ({ARAUCANA: 0.25, SUSSEX: 0.75},) * 2


def test_named_parents_are_taken_at_their_word(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, [*OLD, chick("Y", "hen", "SC", "SH:0.7|SH2:0.3", "Pure")])
    assert sides(flock, "Y") == ({"SC": 1.0}, {"SH": 0.7, "SH2": 0.3})


def test_an_unknown_parent_is_any_of_its_line_alive_then(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, [*OLD, cock("AC", "Alder"), unknown("Y")])
    assert sides(flock, "Y") == ({"SC": 1.0}, {"SH": 0.5, "SH2": 0.5})
    assert flock.defaults[-1] == (
        "parents unknown, taken as any bird of that sex and line alive then: Y"
    )


@pytest.mark.parametrize(
    ("cells", "counted"),
    [
        pytest.param({"hatched": "2026-01-05"}, False, id="hatched in the same season"),
        pytest.param({"hatched": "2025"}, True, id="of the year before, the day unknown"),
        pytest.param({"hatched": ""}, False, id="hatch date unknown"),
        pytest.param({"status": "dead", "left_on": "2026-02-25"}, True, id="35 days gone"),
        pytest.param({"status": "dead", "left_on": "2026-02-24"}, False, id="36 days gone"),
        pytest.param({"line": "Other"}, False, id="another line"),
    ],
)
def test_who_was_alive_then(tmp_path: Path, cells: dict[str, str], counted: bool) -> None:  # noqa: FBT001
    other = {**hen("H3"), **cells}
    _, dams = sides(flock_of(tmp_path, [*OLD, other, unknown("Y")]), "Y")
    assert ("H3" in dams) is counted


def test_a_cock_gone_for_67_days_may_still_be_the_sire(tmp_path: Path) -> None:
    gone = cock("SC2", status="dead", left_on="2026-01-24")
    sires, _ = sides(flock_of(tmp_path, [*OLD, gone, unknown("Y")]), "Y")
    assert sires == {"SC": 0.5, "SC2": 0.5}


def test_an_unknown_parent_where_nobody_is_older_comes_from_the_lines_breeds(
    tmp_path: Path,
) -> None:
    rows = [
        *OLD,
        hen("A1", "Alder", "sussex:0.5|araucana:0.5", hatched="2026-02-01"),
        hen("A2", "Alder", "araucana", hatched="2026-02-01"),
        unknown("Y", line="Alder"),
    ]
    flock = flock_of(tmp_path, rows)
    assert sides(flock, "Y") == ({ARAUCANA: 0.75, SUSSEX: 0.25},) * 2
    assert "taken as founders, no parents being written: Y" in flock.defaults
    assert any(text.startswith("founders without a breed") for text in flock.defaults)


def test_a_line_that_names_no_breed_is_of_the_recurrent_one(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, [*OLD, unknown("Y", line="Elm")])
    assert sides(flock, "Y") == ({SUSSEX: 1.0},) * 2


def test_of_a_bird_without_a_date_nobody_was_older(tmp_path: Path) -> None:
    assert sides(flock_of(tmp_path, [*OLD, unknown("Y", hatched="")]), "Y") == ({SUSSEX: 1.0},) * 2


@pytest.mark.parametrize("cells", [{"breed": "sussex"}, {"source": "Hill"}])
def test_no_parents_but_a_breed_or_a_source_make_a_founder(
    tmp_path: Path, cells: dict[str, str]
) -> None:
    flock = flock_of(tmp_path, [*OLD, unknown("Y", **cells)])
    pool = Pool("sussex", cells.get("source", ""))
    assert sides(flock, "Y") == ({pool: 1.0}, {pool: 1.0})
    assert "taken as founders, no parents being written: Y" in flock.defaults


def test_a_half_founder_has_one_parent_and_one_pool(tmp_path: Path) -> None:
    row = bird("Y", "hen", "Pure", "sussex", sire="SC", dam="founder", hatched="2026-04-01")
    assert sides(flock_of(tmp_path, [*OLD, row]), "Y") == ({"SC": 1.0}, {SUSSEX: 1.0})


def test_one_unknown_parent_beside_a_known_one_is_drawn_from_the_line(tmp_path: Path) -> None:
    row = bird("Y", "hen", "Pure", "sussex", sire="SC", dam="", hatched="2026-04-01")
    assert sides(flock_of(tmp_path, [*OLD, row]), "Y")[1] == {"SH": 0.5, "SH2": 0.5}


def test_where_the_line_had_none_the_unknown_parent_is_any_bird_and_that_is_told(
    tmp_path: Path,
) -> None:
    row = bird("Y", "hen", "Elm", "sussex", sire="SC", dam="", hatched="2026-04-01")
    flock = flock_of(tmp_path, [*OLD, row])
    assert sides(flock, "Y")[1] == {"SH": 0.5, "SH2": 0.5}
    assert flock.defaults == (
        "one parent unknown and nobody of their line alive then, taken as any bird of that sex: Y",
    )


def test_parents_stand_before_their_chicks_and_else_by_band(tmp_path: Path) -> None:
    rows = [chick("A", "hen", "SC", "Z", "Pure"), hen("Z"), cock("SC"), hen("B")]
    assert flock_of(tmp_path, rows).pedigree.birds == ("B", "SC", "Z", "A")


def test_row_order_changes_nothing(tmp_path: Path) -> None:
    rows = [
        *OLD,
        hen("A1", "Alder", "sussex:0.5|araucana:0.5", source="Hill"),
        unknown("Y1"),
        unknown("Y2", line="Alder"),
        chick("Y3", "cock", "SC", "SH|SH2", "Pure"),
        unknown("Y4", hatched="2027-03-01", sex="cock"),
    ]
    first = flock_of(tmp_path / "first", rows)
    for turn in range(4):
        random.Random(turn).shuffle(rows)  # noqa: S311
        again = flock_of(tmp_path / str(turn), rows)
        assert (again.pedigree, again.defaults) == (first.pedigree, first.defaults)


def test_bases_between_pools(tmp_path: Path) -> None:
    """Same source, its own base; same breed, the breed's; other breed, none."""
    settings = "[breeds.sussex]\nbase = 0.02\n[sources.Hill]\nbase = 0.1\n"
    rows = [
        *OLD,
        hen("D", breed="araucana"),
        hen("H", source="Hill"),
        hen("V", source="Vale"),
    ]
    pedigree = flock_of(tmp_path, rows, settings).pedigree
    assert pedigree.pools == (
        ARAUCANA,
        SUSSEX,
        Pool("sussex", "Hill"),
        Pool("sussex", "Vale"),
    )
    assert pedigree.bases == (
        (0.0, 0.0, 0.0, 0.0),
        (0.0, 0.02, 0.02, 0.02),
        (0.0, 0.02, 0.1, 0.02),
        (0.0, 0.02, 0.02, SOURCE_BASE),
    )


def test_a_source_without_a_base_is_no_less_related_than_its_breed(tmp_path: Path) -> None:
    flock = flock_of(tmp_path, [*OLD, hen("V", source="Vale")], "[breeds.sussex]\nbase = 0.2\n")
    assert flock.pedigree.bases[1][1] == 0.2


def test_chicks_of_a_clutch_share_their_unknown_parents(tmp_path: Path) -> None:
    birds = [
        cock("C1"),
        cock("C2"),
        hen("H1"),
        chick("K1", "hen", "C1|C2", "H1", "Pure", clutch="a"),
        chick("K2", "hen", "C1|C2", "H1", "Pure"),
        chick("K3", "cock", "C1|C2", "H1", "Pure", clutch="a"),
    ]
    pedigree = flock_of(tmp_path, birds).pedigree
    numbers = {band: pedigree.clutch_of(at) for at, band in enumerate(pedigree.birds)}
    assert numbers["K1"] == numbers["K3"] is not None
    assert numbers["K2"] is None


def test_without_clutches_no_chick_has_one(tmp_path: Path) -> None:
    pedigree = flock_of(tmp_path, [cock("C1"), hen("H1")]).pedigree
    assert [pedigree.clutch_of(at) for at in range(2)] == [None, None]
