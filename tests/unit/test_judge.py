"""Verdicts as a whole: many rules at once, and what a written wish waives or never does."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.pairs.rules import Rule
from matchmaker.report.wording import rule_sentence
from tests.builders import (
    TOP,
    Row,
    chick,
    cock,
    dna,
    hen,
    judged,
    only,
    rules,
    sole,
)

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.pair import Pair


def test_many_rules_at_once_are_all_told(tmp_path: Path) -> None:
    """Daughter by sire: young, resting, unfit, kept apart, kin, lethal, unproven and hopeless."""
    birds = [
        cock("SC", Cp="creeper"),
        hen("SH", Cp="normal"),
        chick(
            "Y",
            "hen",
            "SC",
            "SH",
            "Alder",
            hatched="2026-09-01",
            defects="wry tail",
            Cp="creeper",
        ),
    ]
    settings = (
        '[loci.Cp.frequency]\nsussex = 0.1\n[lines.Alder]\nstep = "backcross"\n'
        "[traits.temper]\nfloor = 4.0\n"
    )
    wishes = [
        {"bird": "Y", "with": "SC", "wish": "apart", "why": "kin"},
        {"bird": "Y", "with": "", "wish": "rest", "why": "small"},
    ]
    scores = [{"bird": "Y", "temper": "1"}]
    found = only(judged(tmp_path, birds, settings, wishes=wishes, scores=scores), "Y", "SC")
    assert rules(found) == [
        Rule.NOT_AVAILABLE,
        Rule.TOO_YOUNG,
        Rule.UNFIT,
        Rule.UNFIT,
        Rule.WISHED_APART,
        Rule.TOO_RELATED,
        Rule.LETHAL_CHICKS,
        Rule.UNPROVEN,
        Rule.NO_WANTED_CHICKS,
    ]
    assert found.kinship == 0.25
    assert found.value is not None  # rejected pairs keep their terms


def allowed(path: Path, birds: list[Row], settings: str = "", **tables: list[Row]) -> Pair:
    """Return the pair of birds X and W with a wish that allows it."""
    wishes = [{"bird": "X", "with": "W", "wish": "allow", "why": "I know"}]
    return only(judged(path, birds, settings, TOP, wishes=wishes, **tables), "X", "W")


def test_a_written_wish_waives_the_rules(tmp_path: Path) -> None:
    birds = [
        cock("W"),
        hen("SH"),
        chick("X", "hen", "W", "SH", "Pure", hatched="2026-10-01", defects="wry tail"),
    ]
    found = allowed(tmp_path, birds)
    assert rules(found) == [Rule.TOO_YOUNG, Rule.UNFIT, Rule.TOO_RELATED]
    assert (found.allowed, found.waived) == (True, True)


def test_a_wish_for_a_sound_pair_waives_nothing(tmp_path: Path) -> None:
    found = allowed(tmp_path, [cock("W"), hen("X")])
    assert (found.allowed, found.waived) == (True, False)


def test_a_wish_opens_a_row_of_its_own(tmp_path: Path) -> None:
    cross = "sussex:0.5|araucana:0.5"
    birds = [cock("SC"), cock("W", "Birch", cross), hen("X", "Alder", cross)]
    seen = [dna("W", "O", 1), dna("X", "O", 1)]
    found = allowed(tmp_path, birds, seen=seen)
    assert found.crossing is not None
    assert found.crossing.name == "Alder hens × Birch cocks by wish"
    assert (found.line, found.wanted_chance) == ("Alder", 0.75)
    assert rules(found) == [Rule.LINE_CLOSED]
    assert found.value is not None


def test_a_rule_is_told_once_in_a_row_made_by_wish(tmp_path: Path) -> None:
    birds = [
        cock("SC"),
        cock("W", "Birch", "araucana"),
        hen("H", "Alder", "araucana"),
        chick("X", "hen", "W", "H", "Alder"),
    ]
    found = allowed(tmp_path, birds)
    assert rules(found) == [Rule.LINE_CLOSED, Rule.TOO_RELATED]
    assert found.allowed


@pytest.mark.parametrize(
    ("hens", "cocks", "joined"),
    [("Alder", "Pure", "Alder"), ("Pure", "Alder", "Alder"), ("Pure", "Other", "Pure")],
)
def test_chicks_of_a_row_made_by_wish_join_the_line_that_is_bred_up(
    tmp_path: Path, hens: str, cocks: str, joined: str
) -> None:
    """All rows are closed by a written one that concerns another line."""
    row = '[[matings]]\nhens = "Elm"\ncocks = "Elm"\nchicks = "Elm"\npurpose = "hold"\n'
    breeds = {"Alder": "sussex:0.5|araucana:0.5"}
    birds = [
        hen("EH", "Elm"),
        cock("W", cocks, breeds.get(cocks, "sussex")),
        hen("X", hens, breeds.get(hens, "sussex")),
    ]
    assert allowed(tmp_path, birds, row).line == joined


def test_two_sure_carriers_of_a_lethal_are_never_allowed(tmp_path: Path) -> None:
    """Creeper by creeper: a quarter of the chicks die, whatever is wished."""
    birds = [cock("W", Cp="creeper"), hen("X", Cp="creeper")]
    found = allowed(tmp_path, birds, "[loci.Cp.frequency]\nsussex = 0.1\n")
    broken = sole(found, Rule.LETHAL_CHICKS)
    assert (broken.measured, broken.final) == (0.25, True)
    assert (found.allowed, found.waived) == (False, False)
    assert rule_sentence(broken).endswith(
        "no wish can allow such a pair (put each with a bird that is free of Cp)"
    )


def test_no_wish_opens_a_row_for_two_sure_carriers_of_a_lethal(tmp_path: Path) -> None:
    cross = "sussex:0.5|araucana:0.5"
    birds = [
        cock("SC"),
        cock("W", "Birch", cross, Cp="creeper"),
        hen("X", "Alder", cross, Cp="creeper"),
    ]
    found = allowed(tmp_path, birds)
    assert rules(found) == [Rule.LETHAL_CHICKS, Rule.LINE_CLOSED]
    assert found.crossing is None


def test_a_possible_carrier_of_a_lethal_can_be_allowed(tmp_path: Path) -> None:
    birds = [cock("W"), hen("X", Cp="creeper")]
    found = allowed(tmp_path, birds, "[loci.Cp.frequency]\nsussex = 0.3\n")
    assert rules(found) == [Rule.LETHAL_CHICKS]
    assert found.allowed


def test_no_wish_brings_back_the_dead(tmp_path: Path) -> None:
    plan: list[Row] = [{"pen": "Yard", "cock": "W", "hen": "X"}]
    birds = [cock("W", status="dead", left_on="2026-11-01"), hen("X")]
    found = allowed(tmp_path, birds, plan=plan)
    assert rules(found) == [Rule.NOT_AVAILABLE]
    assert not found.allowed


def test_a_wish_waives_quarantine(tmp_path: Path) -> None:
    """It is the keeper's to say that a bird is fit to leave it."""
    birds = [cock("W"), hen("X", status="quarantine", release_on="2027-03-01")]
    assert allowed(tmp_path, birds).allowed
