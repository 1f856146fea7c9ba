"""What each line needs: chicks wanted, set or assumed, and how many one pair may count for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.builders import HOME, HOME_SEEN, hen, judged

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.goals import LineNeeds


def needs(path: Path, settings: str = "", *more: dict[str, str]) -> dict[str, LineNeeds]:
    return dict(judged(path, [*HOME, *more], settings, seen=HOME_SEEN).needs)


def test_a_line_wants_two_and_a_half_chicks_per_breeder(tmp_path: Path) -> None:
    found = needs(tmp_path)
    assert {line: one.chicks_wanted for line, one in found.items()} == {"Alder": 5.0, "Pure": 5.0}
    assert all(one.assumed for one in found.values())


@pytest.mark.parametrize(
    ("status", "wanted"),
    [("spare", 7.5), ("breeder", 7.5), ("young", 5.0), ("quarantine", 5.0), ("dead", 5.0)],
)
def test_breeders_and_spares_count(tmp_path: Path, status: str, wanted: float) -> None:
    found = needs(tmp_path, "", dict(hen("X", status=status)))
    assert found["Pure"].chicks_wanted == wanted


def test_a_line_without_breeders_counts_as_one(tmp_path: Path) -> None:
    found = needs(tmp_path, "", dict(hen("X", "Young", status="young")))
    assert found["Young"].chicks_wanted == 2.5


def test_what_is_set_stands(tmp_path: Path) -> None:
    found = needs(tmp_path, "[lines.Alder]\nchicks_wanted = 12\nfamilies = 3\n")["Alder"]
    assert (found.chicks_wanted, found.assumed, found.most_per_pair) == (12.0, False, 4.0)


def test_one_pair_counts_for_a_quarter_of_a_line(tmp_path: Path) -> None:
    assert needs(tmp_path)["Alder"].most_per_pair == 1.25


def test_assumed_numbers_shrink_to_the_rearing_room(tmp_path: Path) -> None:
    """Room 8, 5 + 5 assumed: each 4."""
    found = needs(tmp_path, "[year]\nrearing_room = 8\n")
    assert {one.chicks_wanted for one in found.values()} == {4.0}


def test_set_numbers_do_not_shrink(tmp_path: Path) -> None:
    """Room 8, 6 set for one line: 2 are left for the other."""
    settings = "[lines.Alder]\nchicks_wanted = 6\n[year]\nrearing_room = 8\n"
    found = needs(tmp_path, settings)
    assert (found["Alder"].chicks_wanted, found["Pure"].chicks_wanted) == (6.0, 2.0)


def test_no_line_shrinks_to_nothing(tmp_path: Path) -> None:
    """A tenth is left even where the room is spoken for."""
    settings = "[lines.Alder]\nchicks_wanted = 20\n[year]\nrearing_room = 8\n"
    assert needs(tmp_path, settings)["Pure"].chicks_wanted == 0.5


def test_room_enough_changes_nothing(tmp_path: Path) -> None:
    assert needs(tmp_path, "[year]\nrearing_room = 10\n")["Pure"].chicks_wanted == 5.0


def test_a_line_that_rows_found_has_needs(tmp_path: Path) -> None:
    row = '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "New"\npurpose = "backcross"\n'
    assert needs(tmp_path, row)["New"].chicks_wanted == 2.5
