"""Who is kept by a keeper without the program: the best to the eye, half young at least."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.ahead.assumed import assumptions
from matchmaker.ahead.keeping_by_eye import keep_by_eye
from matchmaker.ahead.places import Size
from matchmaker.pairs.table import survey_pairs
from matchmaker.tables.records import Sex
from tests.ahead_flocks import BIRDS, PENS, SEEN
from tests.builders import chick, hen, judged

if TYPE_CHECKING:
    from pathlib import Path

    from tests.builders import Row

EGGS = '[traits.eggs]\ndirection = "up"\nweight = 0.5\nh2 = 0.5\nsex = "hen"\n'
PULLETS = tuple(
    chick(f"N{at}", "hen", f"S{at % 2}", f"P{at % 4}", "Pure", status="young") for at in range(6)
)
SCORES = [
    {"bird": f"{kind}{at}", "date": "2026-11-01", "eggs": str(30 + 4 * at + more)}
    for kind, number, more in (("P", 4, 0), ("N", 6, 2), ("AH", 4, 0))
    for at in range(number)
]


def kept(path: Path, wanted: int, *more: Row, birds: tuple[Row, ...] = BIRDS) -> list[str]:
    """Hens of the pure line that are kept, there being so many places."""
    table = judged(path / "f", (*birds, *PULLETS, *more), EGGS, seen=SEEN, scores=SCORES, pens=PENS)
    size = {(line, sex): 50 for line in ("Pure", "Alder") for sex in Sex}
    survey = survey_pairs(table.study, open_only=True)
    spring = keep_by_eye(survey, Size(wanted=size | {("Pure", Sex.HEN): wanted}))
    living = spring.table.study.flock.living
    assert not spring.gone & {bird.band for bird in living}
    return [bird.band for bird in living if (bird.line, bird.sex) == ("Pure", Sex.HEN)]


def test_the_best_scored_are_kept_half_of_them_young(tmp_path: Path) -> None:
    assert kept(tmp_path / "4", 4) == ["N3", "N4", "N5", "P3"], "44, 48, 52 and 42 eggs"
    assert len(kept(tmp_path / "6", 6)) == 6
    assert set(kept(tmp_path / "20", 20)) == {f"N{at}" for at in range(6)} | {
        f"P{at}" for at in range(4)
    }


def test_defects_and_old_birds_go(tmp_path: Path) -> None:
    birds = tuple(
        {**row, "defects": "wry tail"}
        if row["bird"] == "P3"
        else {**row, "hatched": "2022-03-01"}
        if row["bird"] == "P2"
        else row
        for row in BIRDS
    )
    assert not {"P2", "P3"} & set(kept(tmp_path, 20, hen("Q"), birds=birds))


def test_what_is_taken_for_granted_is_said_as_it_is(tmp_path: Path) -> None:
    settings = judged(tmp_path / "a", BIRDS, seen=SEEN).study.flock.settings
    size = Size(wanted={("Pure", Sex.HEN): 5, ("Pure", Sex.COCK): 2})
    derived = " ".join(assumptions(settings, size, 0.9))
    assert "Pure 5 + 2" in derived
    assert "90 % sussex" in derived
    assert "3 % (under a year old), 5 % or 12 %" in derived
    rows = '[[matings]]\nhens = "Pure"\ncocks = "Pure"\nchicks = "Pure"\npurpose = "hold"\n'
    written = judged(tmp_path / "b", BIRDS, rows, seen=SEEN).study.flock.settings
    told = " ".join(assumptions(written, size, 0.9))
    assert "your own crossings stay open" in told
    assert "90 %" not in told
    assert "no egg is set" not in told
    turns = judged(tmp_path / "c", BIRDS, rows + "every = 2\nfrom = 2027\n", seen=SEEN)
    told = " ".join(assumptions(turns.study.flock.settings, size, 0.9))
    assert "in a season in which none falls no egg is set" in told
