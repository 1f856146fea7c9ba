"""Small flocks in which one rule alone rejects a pair, as folders (invented birds)."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.pairs.rules import Rule
from tests.builders import HOME, HOME_SEEN, chick, cock, dna, hen, write_flock

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

Make: TypeAlias = "Callable[[Path], Path]"

ALDER = "sussex:0.5|araucana:0.5"
LAV = 'season = 2027\nrecurrent = "sussex"\ntarget = {lav = 2}\n'
GONE = {"status": "dead", "left_on": "2026-12-01"}


@dataclass(frozen=True, slots=True)
class Case:
    """A flock, the pair, what the rule says of it, and the settings or cells that would lift it.

    ``lifts`` are words of the edit that allows the pair, "" where no edit but a written wish does.
    """

    make: Make
    hen: str
    cock: str
    says: str
    lifts: str = ""
    wish: bool = True


def _related(path: Path) -> Path:
    return write_flock(
        path, [cock("SC"), hen("SH"), hen("S2"), chick("Y", "hen", "SC", "SH", "Pure")]
    )


def _no_wanted(path: Path) -> Path:
    """One wanted chick in four, and a limit above that."""
    return write_flock(path, HOME, "[limits]\nwanted_chance_min = 0.6\n", seen=HOME_SEEN)


def _lethal(path: Path) -> Path:
    birds = [cock("SC"), hen("SH", Cp="creeper"), hen("S2", Cp="normal")]
    return write_flock(path, birds, "[loci.Cp.frequency]\nsussex = 0.3\n")


def _closed(path: Path) -> Path:
    return write_flock(path, HOME, seen=HOME_SEEN)


def _resting(path: Path) -> Path:
    wishes = [{"bird": "SH", "with": "", "wish": "rest", "why": "moulting"}]
    return write_flock(path, [cock("SC"), hen("SH"), hen("S2")], wishes=wishes)


def _quarantined(path: Path) -> Path:
    birds = [cock("SC"), hen("S2"), hen("SH", status="quarantine", release_on="2027-02-20")]
    return write_flock(path, birds)


def _gone(path: Path) -> Path:
    plan = [{"pen": "Yard", "cock": "SC", "hen": "SH"}]
    return write_flock(path, [cock("SC"), hen("S2"), hen("SH", **GONE)], plan=plan)


def _young(path: Path) -> Path:
    return write_flock(path, [cock("SC"), hen("S2"), hen("SH", hatched="2026-08-20")])


def _unproven(path: Path) -> Path:
    birds = [cock("SC"), hen("S2"), hen("AH", "Alder", "sussex:0.75|araucana:0.25")]
    return write_flock(path, birds)


def _apart(path: Path) -> Path:
    wishes = [{"bird": "SC", "with": "SH", "wish": "apart", "why": "she is pecked"}]
    return write_flock(path, [cock("SC"), hen("SH"), hen("S2")], wishes=wishes)


def _unfit(path: Path) -> Path:
    return write_flock(path, [cock("SC"), hen("S2"), hen("SH", defects="crossed beak")])


def _nothing_to_test(path: Path) -> Path:
    """A cock on trial whose genes a laboratory has settled."""
    birds = [
        cock("L1", "Lavender", "donor"),
        hen("L2", "Lavender", "donor"),
        cock("SC"),
        hen("SH"),
        cock("A1", "Alder", "sussex:0.5|donor:0.5"),
    ]
    row = (
        '[[matings]]\nname = "proof"\nhens = "Lavender"\ncocks = "Alder"\npurpose = "test"\n'
        'tests = "cock"\n'
        '[[matings]]\nname = "pure"\nhens = "Pure"\ncocks = "Pure"\nchicks = "Pure"\n'
        'purpose = "hold"\nkeep = {lav = [0]}\n'
    )
    return write_flock(path, birds, row, LAV, seen=[dna("A1", "lav", 1)])


ALONE: dict[tuple[Rule, str], Case] = {
    (Rule.TOO_RELATED, ""): Case(
        _related, "Y", "SC", "kinship 0.250 is above the limit 0.125", "kinship_max = 0.25"
    ),
    (Rule.NO_WANTED_CHICKS, ""): Case(
        _no_wanted, "AH", "SC", "only 50.0 % of the chicks would be wanted", "wanted_chance_min"
    ),
    (Rule.LETHAL_CHICKS, ""): Case(_lethal, "SH", "SC", "12 % of the chicks are expected to die"),
    (Rule.LINE_CLOSED, ""): Case(
        _closed, "AH", "AC", "no crossing of Alder hens (AH) with Alder cocks (AC)", "[[matings]]"
    ),
    (Rule.NOT_AVAILABLE, "rest"): Case(
        _resting, "SH", "SC", "SH rests this season by your wish: moulting", "delete row 2"
    ),
    (Rule.NOT_AVAILABLE, "quarantine"): Case(
        _quarantined,
        "SH",
        "SC",
        "SH is in quarantine (until 20 February 2027",
        "pen_up = 2027-02-20",
    ),
    (Rule.NOT_AVAILABLE, "gone"): Case(_gone, "SH", "SC", "SH is dead", wish=False),
    (Rule.TOO_YOUNG, ""): Case(
        _young, "SH", "SC", "SH will be 165 days old on 1 February 2027", "pen_up = 2027-02-16"
    ),
    (Rule.UNPROVEN, ""): Case(
        _unproven, "AH", "SC", "the chance that AH carries O is 44 %", "proof_min = 0.43"
    ),
    (Rule.WISHED_APART, ""): Case(
        _apart, "SH", "SC", "kept apart by your wish: she is pecked", "delete row 2"
    ),
    (Rule.UNFIT, ""): Case(_unfit, "SH", "SC", "SH has a defect that culls: crossed beak"),
    (Rule.NOTHING_TO_TEST, ""): Case(
        _nothing_to_test, "L2", "A1", "what A1 carries of lav is known: no test chicks needed"
    ),
}
"""Each rule with a flock in which nothing else rejects the pair."""


def all_at_once(path: Path) -> Path:
    """Daughter with her sire: every rule that can hold of one pair, a closed row apart.

    A row of matings holds the ones that hang on it, a test row beside it the one of tests.
    """
    birds = [
        cock("SC", Cp="creeper"),
        hen("SH", Cp="normal"),
        chick(
            "Y", "hen", "SC", "SH", "Alder", hatched="2026-09-01", defects="wry tail", Cp="creeper"
        ),
    ]
    settings = (
        '[loci.Cp.frequency]\nsussex = 0.1\n[lines.Alder]\nstep = "backcross"\n'
        '[[matings]]\nname = "back"\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\n'
        'purpose = "backcross"\nkeep = {O = [1]}\n'
        '[[matings]]\nname = "proof"\nhens = "Alder"\ncocks = "Pure"\npurpose = "test"\n'
        'tests = "hen"\nkeep = {O = [1]}\n'
    )
    wishes = [
        {"bird": "Y", "with": "SC", "wish": "apart", "why": "kin"},
        {"bird": "Y", "with": "", "wish": "rest", "why": "small"},
    ]
    return write_flock(path, birds, settings, wishes=wishes, seen=[dna("Y", "O", 0)])


def scarce_flock(path: Path, seed: int) -> Path:
    """A flock with five places for nine hens of three lines; scores and needs by chance."""
    rng = random.Random(seed)  # noqa: S311
    birds = [
        cock("SC"),
        cock("SD"),
        cock("AC", "Alder", ALDER),
        cock("BC", "Birch", ALDER),
        *(hen(f"H{number}") for number in range(1, 7)),
        *(hen(f"A{number}", "Alder", ALDER) for number in (1, 2)),
        hen("B1", "Birch", ALDER),
    ]
    scores = [
        {
            "bird": one["bird"],
            "date": "2026-06-01",
            "eggs": str(rng.randint(40, 66)),
            "temper": str(rng.randint(1, 5)),
        }
        for one in birds
        if one["sex"] == "hen"
    ]
    settings = (
        '[traits.eggs]\ndirection = "up"\nweight = 0.3\nh2 = 0.3\n'
        '[traits.temper]\ndirection = "up"\nweight = 0.2\nh2 = 0.3\n'
        f"[lines.Pure]\nchicks_wanted = {rng.randint(8, 30)}\n"
        f"[lines.Alder]\nchicks_wanted = {rng.randint(8, 30)}\n"
        f"importance = {rng.choice([0.5, 1.0])}\n"
        f"[lines.Birch]\nchicks_wanted = {rng.randint(8, 30)}\n"
    )
    seen = [dna(one["bird"], "O", 1) for one in birds if one["line"] != "Pure"]
    folder = write_flock(path, birds, settings, scores=scores, seen=seen)
    (folder / "pens.csv").write_text("pen,hens_max\nYard,3\nOrchard,2\n", encoding="utf-8")
    return folder
