"""Chicks, worth and value of a pair, worked by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.pairs.value import Centre, value_of, worth_of
from tests.builders import HOME, HOME_SEEN, Row, cock, dna, hen, judged, only

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.pair import Pair

YEAR = """[year]
pen_up = 2027-02-01
collect_from = 2027-02-15
collect_until = 2027-04-11
lay_per_week = 4
fertility = 0.9
hatch_of_fertile = 0.8
rearing = 0.75
depression = 0.5
"""
"""56 days of collecting, both ends counted: 56 · 4 / 7 · 0.9 · 0.8 · 0.75 = 17.28 chicks."""


def pair(path: Path, settings: str = YEAR, **cells: str) -> Pair:
    """Return the pure pair; ``cells`` are the hen's."""
    birds = [cock("SC"), hen("SH", **cells)]
    return only(judged(path, birds, settings), "SH", "SC")


def test_chicks_raised(tmp_path: Path) -> None:
    assert pair(tmp_path).chicks == pytest.approx(17.28)


@pytest.mark.parametrize(
    ("old", "new", "chicks"),
    [
        pytest.param(
            "2027-02-15", "2027-02-01", 17.28 * 63 / 56, id="a week after penning at least"
        ),
        pytest.param("2027-02-15", "2027-04-11", 17.28 / 56, id="one day"),
        pytest.param("2027-02-15", "2027-05-01", 0.0, id="never"),
        pytest.param("lay_per_week = 4", "lay_per_week = 2", 8.64, id="lay"),
        pytest.param("rearing = 0.75", "rearing = 0.25", 5.76, id="rearing"),
    ],
)
def test_chicks_follow_the_season(tmp_path: Path, old: str, new: str, chicks: float) -> None:
    settings = YEAR.replace(old, new)
    if chicks == 0.0:
        settings = settings.replace("collect_until = 2027-04-11", "collect_until = 2027-04-30")
    assert pair(tmp_path, settings).chicks == pytest.approx(chicks)


def test_a_hens_own_lay_counts(tmp_path: Path) -> None:
    assert pair(tmp_path, lay_per_week="5").chicks == pytest.approx(17.28 * 5 / 4)


def test_the_lower_of_two_fertilities_counts(tmp_path: Path) -> None:
    birds = [cock("SC", fertility="0.6"), hen("SH", fertility="0.8"), hen("SX")]
    found = judged(tmp_path, birds, YEAR)
    assert only(found, "SH", "SC").chicks == pytest.approx(17.28 * 0.6 / 0.9)
    assert only(found, "SX", "SC").chicks == pytest.approx(17.28 * 0.6 / 0.9)


def test_inbred_chicks_are_fewer(tmp_path: Path) -> None:
    """Base kinship 0.1, depression a half: 1 − 0.05."""
    settings = YEAR + "[breeds.sussex]\nbase = 0.1\n"
    assert pair(tmp_path, settings).chicks == pytest.approx(17.28 * 0.95)


def test_half_the_chicks_of_a_carrier_are_wanted(tmp_path: Path) -> None:
    found = only(judged(tmp_path, HOME, YEAR, seen=HOME_SEEN), "AH", "SC")
    assert found.wanted_chance == pytest.approx(0.5)
    assert found.wanted == pytest.approx(8.64)


def test_value_is_wanted_chicks_times_worth(tmp_path: Path) -> None:
    """Alone in its line a pair is worth one; 40 chicks wanted, four families: ten at most."""
    settings = YEAR + "[lines.Alder]\nchicks_wanted = 40\n"
    found = only(judged(tmp_path, HOME, settings, seen=HOME_SEEN), "AH", "SC")
    assert (found.worth, found.value) == (1.0, 8.64)


def test_one_pair_counts_for_one_family_at_most(tmp_path: Path) -> None:
    settings = YEAR + "[lines.Alder]\nchicks_wanted = 10\nfamilies = 2\n"
    found = only(judged(tmp_path, HOME, settings, seen=HOME_SEEN), "AH", "SC")
    assert found.value == 5.0


def alder(share: float) -> str:
    return f"sussex:{share}|araucana:{1 - share}"


def two_hens(path: Path, settings: str = "", *more: Row) -> dict[str, Pair]:
    """Return pairs of two carrier hens whose chicks have shares 0.75 and 0.85."""
    birds = [cock("SC"), hen("AH", "Alder", alder(0.5)), hen("AX", "Alder", alder(0.7)), *more]
    seen = [dna("AH", "O", 1), dna("AX", "O", 1)]
    found = judged(path, birds, settings, seen=seen)
    return {band: only(found, band, "SC") for band in ("AH", "AX")}


def test_worth_is_measured_against_the_lines_pairs(tmp_path: Path) -> None:
    """Mean share 0.8; a tenth counts a quarter: ± ½ of it."""
    found = two_hens(tmp_path)
    assert found["AH"].worth == pytest.approx(0.875)
    assert found["AX"].worth == pytest.approx(1.125)


def test_the_weight_of_the_share_can_be_set(tmp_path: Path) -> None:
    found = two_hens(tmp_path, "[weights]\nrecurrent_share = 0.6\n")
    assert found["AX"].worth == pytest.approx(1.3)
    assert found["AH"].worth == pytest.approx(0.7)


def test_pairs_of_other_lines_do_not_move_the_mean(tmp_path: Path) -> None:
    other = hen("BH", "Birch", alder(0.9))
    assert two_hens(tmp_path, "", other)["AX"].worth == pytest.approx(1.125)


def test_every_hen_of_the_line_counts_in_the_mean_allowed_or_not(tmp_path: Path) -> None:
    """An unproven hen of share 0.9 too: chicks of 0.75, 0.85 and 0.95 lie about 0.85."""
    other = hen("AZ", "Alder", alder(0.9))
    assert two_hens(tmp_path, "", other)["AX"].worth == pytest.approx(1.0)


def test_selling_a_bird_does_not_make_the_others_look_better(tmp_path: Path) -> None:
    gone = hen("AZ", "Alder", alder(0.9), status="sold", left_on="2026-12-20")
    assert two_hens(tmp_path, "", gone)["AX"].worth == pytest.approx(1.0)


def test_birds_long_gone_do_not_move_the_mean(tmp_path: Path) -> None:
    gone = hen("AZ", "Alder", alder(0.9), status="sold", left_on="2025-12-20")
    assert two_hens(tmp_path, "", gone)["AX"].worth == pytest.approx(1.125)


def test_a_line_without_an_allowed_pair_is_measured_against_all_of_them(tmp_path: Path) -> None:
    """Untested hens of shares 0.8 and 0.9: their chicks' 0.9 and 0.95 lie about 0.925."""
    birds = [cock("SC"), hen("AH", "Alder", alder(0.8)), hen("AX", "Alder", alder(0.9))]
    found = judged(tmp_path, birds)
    assert not only(found, "AH", "SC").allowed
    assert only(found, "AH", "SC").worth == pytest.approx(0.9375)
    assert only(found, "AX", "SC").worth == pytest.approx(1.0625)


def test_merit_adds_to_worth(tmp_path: Path) -> None:
    """Against the mean of their line: ± half the difference of merit."""
    hens = [f"H{at}" for at in range(6)]
    scores = [{"bird": band, "eggs": str(50 + at)} for at, band in enumerate(hens)]
    settings = '[traits.eggs]\ndirection = "up"\nweight = 0.2\n'
    found = judged(tmp_path, [cock("C"), *map(hen, hens)], settings, scores=scores)
    merits = [only(found, band, "C").merit for band in hens]
    middle = sum(merits) / 6
    for band, merit in zip(hens, merits, strict=True):
        assert only(found, band, "C").worth == pytest.approx(1 + merit - middle)
    assert merits == sorted(merits)
    assert merits[0] < merits[-1]


@pytest.mark.parametrize(
    ("merit", "share", "worth"),
    [(0.3, 0.8, 1.3), (0.0, 0.9, 1.25), (-0.2, 0.7, 0.55), (-2.0, 0.8, 0.05)],
)
def test_worth_has_a_floor(merit: float, share: float, worth: float) -> None:
    centre = Centre(merit=0.0, recurrent_share=0.8)
    assert worth_of(merit, share, centre, 0.25) == pytest.approx(worth)


@pytest.mark.parametrize(
    ("wanted", "worth", "most", "value"),
    [
        pytest.param(1.0004, 1.0, 9.0, 1.0, id="rounded down"),
        pytest.param(1.0006, 1.0, 9.0, 1.001, id="rounded up"),
        pytest.param(12.0, 1.1, 5.0, 5.5, id="capped before it is weighed"),
        pytest.param(0.0, 1.1, 5.0, 0.0, id="nothing"),
    ],
)
def test_values_lie_on_a_grid(wanted: float, worth: float, most: float, value: float) -> None:
    assert value_of(wanted, worth, most) == value


def test_a_pair_without_a_row_has_no_value(tmp_path: Path) -> None:
    found = only(judged(tmp_path, HOME, seen=HOME_SEEN), "AH", "AC")
    assert (found.worth, found.value, found.wanted_by_sex) == (None, None, None)
    assert found.recurrent_share == 0.5
    assert found.chicks > 0
