"""Laws of the reach of findings, and of mends, over random flocks spoilt at random."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from matchmaker import verbs
from matchmaker.errors import Fault
from matchmaker.flock.descent import Descent
from matchmaker.mends.mended import mend_safely
from matchmaker.mends.reach import Reach, breeders_of, reach_of
from matchmaker.tables.write_together import write_together
from tests.cli.run import edit_rows
from tests.keepers_flocks import flock_at_random
from tests.mending_flocks import KIND, WRITTEN, with_no_defects

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from matchmaker.checking import Check
    from matchmaker.tables.folder import FolderTables
    from tests.cli.run import Cells

FEW = settings(max_examples=8, deadline=None)


def check_at_random(folder: Path, seed: int) -> Check:
    flock_at_random(folder, seed)
    return verbs.check(folder)


def part_by_hand(tables: FolderTables, forebear: str, bird: str) -> float:
    """The part of a bird's genes that is a forebear's: half of the mean of its parents' parts."""
    if forebear == bird:
        return 1.0
    record = next((one for one in tables.birds if one.bird == bird), None)
    if record is None:
        return 0.0
    cells = (*record.sire.candidates, *record.dam.candidates)
    return min(1.0, sum(p / 2 * part_by_hand(tables, forebear, parent) for parent, p in cells))


@given(st.integers(0, 10**6))
@FEW
def test_descent_agrees_with_going_up_from_each_bird(seed: int) -> None:
    with tempfile.TemporaryDirectory() as place:
        tables = check_at_random(Path(place), seed).tables
    bands = [record.bird for record in tables.birds]
    descent = Descent(tables, bands)
    for forebear in bands:
        by_hand = {bird: part_by_hand(tables, forebear, bird) for bird in bands}
        wanted = {bird: part for bird, part in by_hand.items() if part > 0}
        assert descent.passed_on(forebear) == pytest.approx(wanted)


def of_row(found: Check, row: int) -> Reach:
    """What a doubt about the breed in a row of the birds touches."""
    made = Fault(kind="k", file="birds.csv", row=row, column="breed", problem="p", mend="m")
    (reach,) = reach_of(_only(found, made)).found
    return reach


def _only(found: Check, made: Fault) -> Check:
    return type(found)(tables=found.tables, faults=(), doubts=(made,), table=found.table)


@given(st.integers(0, 10**6))
@FEW
def test_a_parents_cell_reaches_whatever_its_chicks_does(seed: int) -> None:
    with tempfile.TemporaryDirectory() as place:
        found = check_at_random(Path(place), seed)
    rows = {record.bird: record.row for record in found.tables.birds}
    for record in found.tables.birds:
        own = of_row(found, record.row)
        for parent, chance in (*record.sire.candidates, *record.dam.candidates):
            above = of_row(found, rows[parent])
            assert above.touched.keys() >= own.touched.keys()
            assert above.weight >= own.weight * chance / 2 - 1e-9
            for band, part in own.touched.items():
                assert above.touched[band] >= min(part * chance / 2, 1.0) - 1e-9


def spoilt(folder: Path, seed: int) -> None:
    """Spoil birds in ways that keepers and their spreadsheets do, one or two in ten of each."""
    rng = random.Random(seed)  # noqa: S311

    def spoil(rows: Cells) -> None:
        for row in rows:
            for column, changes in SPOILS.items():
                cell = row.get(column, "")
                row[column] = rng.choice(changes)(cell) if rng.random() < 0.15 else cell
        for row in rng.sample(rows, min(2, len(rows))):
            rows.append(dict(row))

    edit_rows(folder / "birds.csv", spoil)


SPOILS: Mapping[str, Sequence[Callable[[str], str]]] = {
    "defects": (lambda _: WRITTEN,),
    "line": (str.lower, str.upper, lambda line: f"{line} "),
    "sire": (str.lower, lambda band: f" {band}", lambda band: band.replace("C", "C ")),
    "dam": (str.lower, lambda band: f"\u00a0{band}\u200b"),
    "sex": (str.upper, str.title),
}


@pytest.fixture(scope="module")
def _no_defects() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        with_no_defects(patch)
        yield


@pytest.mark.usefixtures("_no_defects")
@given(st.integers(0, 10**6))
@FEW
def test_after_safe_mends_less_is_found_and_nothing_new_and_then_nothing_is_left(seed: int) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        flock_at_random(folder, seed)
        spoilt(folder, seed)
        before = verbs.check(folder)
        mended = mend_safely(before, books=False, seconds=0.01)
        write_together(mended.files, before.tables.inputs)
        after = verbs.check(folder)
        again = mend_safely(after, books=False, seconds=0.01)
    assert {fault.kind for fault in after.faults} <= {fault.kind for fault in before.faults}
    assert again.written == ()
    assert not [left for left in again.left if left.fault.kind == KIND]
    count = len(after.faults) + len(after.doubts)
    assert count == len(mended.after.faults) + len(mended.after.doubts)
    assert mended.written
    if (before.table is None) is (after.table is None):
        assert count < len(before.faults) + len(before.doubts)


def test_birds_that_no_rule_keeps_out_are_breeders_and_the_dead_are_not(tmp_path: Path) -> None:
    found = check_at_random(tmp_path, 7)
    assert found.table is not None
    fit = {band for band, broken in found.table.of_birds.items() if not broken}
    here = {record.bird for record in found.tables.birds if record.status.alive_here}
    assert fit <= set(breeders_of(found)) <= here
