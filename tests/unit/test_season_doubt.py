"""Unproven parents: a hundred eggs of a cock without the gene are a hundred too few."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

import numpy as np
import pytest
from rich.console import Console

from matchmaker import verbs
from matchmaker.report.season import print_season
from matchmaker.report.season_words import line_sentences
from matchmaker.season.doubt import DRAWN, Doubts, line_doubts
from matchmaker.season.reaching import Tally, survival
from matchmaker.tables.records import Sex
from tests.builders import TOP, Row, chick, cock, dna, hen, write_flock
from tests.screens import plain

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.season.guide import SeasonGuide

YEAR = "[lines.Alder]\nchicks_wanted = 8\n[year]\npen_up = 2027-02-01\n"


def flock(
    path: Path, *, unproven: int = 1, settings: str = YEAR, proven: bool = False, hens: int = 4
) -> Path:
    """A proven carrier cock and sons of his whose chance to carry is a half, each with hens."""
    birds: list[Row] = [
        cock("SC", hatched="2024-03-01"),
        hen("SM", hatched="2024-03-01"),
        cock("AC", "Alder", "sussex:0.5|araucana:0.5", hatched="2024-03-01"),
        hen("SN", hatched="2024-03-01"),
    ]
    rows: list[Row] = [dna("AC", "O", 1)]
    plan: list[Row] = []
    pens: list[Row] = []
    for number in range(unproven):
        band = f"K{number}"
        birds.append(chick(band, "cock", "AC", "SN", "Alder", hatched="2025-03-01"))
        rows += [dna(band, "O", 1)] if proven else []
        pens.append({"pen": str(number), "hens_max": "4", "dam_known": "yes"})
        for each in (f"H{number}{letter}" for letter in "abcd"[:hens]):
            birds.append(hen(each))
            plan.append({"pen": str(number), "line": "Alder", "cock": band, "hen": each})
    return write_flock(path, birds, settings, TOP, pens=pens, plan=plan, seen=rows)


def shown(guide: SeasonGuide) -> str:
    stream = io.StringIO()
    print_season(Console(file=stream, width=80), guide)
    return plain(stream.getvalue())


def season(folder: Path) -> SeasonGuide:
    return verbs.season(folder)


def test_the_chance_is_the_mean_over_what_the_cock_may_be(tmp_path: Path) -> None:
    guide = season(flock(tmp_path))
    (alder,) = [one for one in guide.lines if one.goal.line == "Alder"]
    assert alder.goal.doubts.birds == (("K0", ("O",)),)
    assert alder.goal.doubts.weights == pytest.approx([0.5, 0.5])
    shared = survival(guide.rates.raised, guide.rates.raised_spread(len(guide.weeks)))
    tally = Tally(8, shared)
    for lot, count in guide.rows:
        for _ in range(count if lot.line == "Alder" else 0):
            tally.add(0.5 * lot.lives)
    assert alder.chances[0] == pytest.approx(0.5 * tally.chance)
    assert alder.ways == pytest.approx((0.0, tally.chance))


def test_eggs_are_not_heaped_up_where_only_a_proof_helps(tmp_path: Path) -> None:
    doubtful = season(flock(tmp_path / "a"))
    proved = season(flock(tmp_path / "b", proven=True))
    one, other = (
        next(line for line in guide.lines if line.goal.line == "Alder")
        for guide in (doubtful, proved)
    )
    assert other.enough
    assert other.goal.doubts.birds == ()
    assert not one.enough
    assert (one.blocked, one.more) == ("doubt", None)
    assert one.ceiling is not None
    assert 0.45 < one.chances[0] <= one.ceiling <= 0.5
    assert one.chances[0] >= 0.95 * one.ceiling
    assert one.eggs <= other.eggs


def test_few_eggs_and_a_doubt_are_told_together(tmp_path: Path) -> None:
    guide = season(flock(tmp_path, hens=1))
    alder = next(line for line in guide.lines if line.goal.line == "Alder")
    assert (alder.blocked, alder.more, alder.ceiling) == ("eggs", None, None)
    words = shown(guide)
    assert "For 95 % no number of eggs of these pairs is enough." in words
    assert "Not proven among the parents: K0 (carries O with 50 %)." in words


def test_several_unproven_cocks_make_it_surer_together(tmp_path: Path) -> None:
    chances = [
        next(
            line.chances[0]
            for line in season(flock(tmp_path / str(count), unproven=count, hens=2)).lines
            if line.goal.line == "Alder"
        )
        for count in (1, 2, 3)
    ]
    assert chances[0] < 0.5 < chances[1] < chances[2]


def test_the_screen_names_them_and_says_what_to_do(tmp_path: Path) -> None:
    words = shown(season(flock(tmp_path)))
    assert "because parents are not proven: K0 (carries O with 50 %)." in words
    assert "Prove them first (matchmaker tests), or rely on proven birds." in words


def test_many_unproven_parents_are_drawn(tmp_path: Path) -> None:
    table = verbs.pairs(flock(tmp_path, unproven=8))
    pairs = [pair for pair in table.allowed if pair.cock.startswith("K")]
    found = line_doubts(table.study, pairs)
    assert found.drawn
    assert len(found.weights) == DRAWN
    again = line_doubts(table.study, pairs)
    for pair in pairs:
        for sex in Sex:
            chances = found.of(pair, sex)
            assert np.array_equal(chances, again.of(pair, sex))
            assert pair.wanted_by_sex is not None
            assert found.weights @ chances == pytest.approx(pair.wanted_by_sex[sex])


def test_a_chance_over_drawn_ways_says_how_far_it_may_be_off(tmp_path: Path) -> None:
    few = YEAR.replace("chicks_wanted = 8", "chicks_wanted = 2")
    many = flock(tmp_path / "many", unproven=7, hens=1, settings=few)
    words = " ".join(line_sentences(season(many)))
    assert f"Alder: what its unproven parents may be is drawn {DRAWN} times" in words
    assert re.search(r"may be off by (< )?[1-5] % either way", words)
    assert "either way" not in " ".join(line_sentences(season(flock(tmp_path / "few"))))


def test_proven_parents_leave_no_doubt(tmp_path: Path) -> None:
    table = verbs.pairs(flock(tmp_path, proven=True))
    found = line_doubts(table.study, table.allowed)
    assert found.birds == ()
    (pair,) = [one for one in table.allowed if (one.hen, one.cock) == ("H0a", "K0")]
    assert found.of(pair, Sex.HEN).tolist() == [0.25]
    assert Doubts().of(pair, Sex.COCK).tolist() == [0.25]


def test_linked_loci_that_are_both_kept_go_by_phase(tmp_path: Path) -> None:
    settings = (
        '[loci.P]\nlinked_to = "O"\nrecombination = 0.04\n'
        '[[matings]]\nname = "both"\nhens = "Pure"\ncocks = "Alder"\nchicks = "Alder"\n'
        'purpose = "backcross"\nkeep = { O = [1], P = [0] }\n' + YEAR
    )
    folder = flock(tmp_path, settings=settings)
    table = verbs.pairs(folder)
    (pair,) = [one for one in table.by_birds["H0a", "K0"] if one.crossing]
    found = line_doubts(table.study, [pair])
    assert found.birds
    assert all(set(loci) == {"O", "P"} for _, loci in found.birds)
    assert pair.wanted_by_sex is not None
    for sex in Sex:
        assert found.weights @ found.of(pair, sex) == pytest.approx(pair.wanted_by_sex[sex])
    assert found.of(pair, Sex.COCK).min() < found.of(pair, Sex.COCK).max()


def test_rows_kept_by_sight_count_what_can_be_told(tmp_path: Path) -> None:
    settings = (
        '[[matings]]\nname = "seen"\nhens = "Pure"\ncocks = "Alder"\nchicks = "Alder"\n'
        'purpose = "backcross"\nkeep = { O = [1, 2] }\nrecognise = "sight"\n' + YEAR
    )
    table = verbs.pairs(flock(tmp_path, settings=settings))
    (pair,) = [one for one in table.by_birds["H0a", "K0"] if one.crossing]
    found = line_doubts(table.study, [pair])
    assert found.of(pair, Sex.COCK).tolist() == [0.0] * len(found.weights)
    assert sorted(found.of(pair, Sex.HEN).tolist()) == [0.0, 0.25]
