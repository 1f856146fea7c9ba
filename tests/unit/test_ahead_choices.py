"""Whom a simulated keeper bands and keeps, and which step he chooses for a line."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from matchmaker.ahead import retaining, steps
from matchmaker.ahead.first_look import Chances, Hopeful, banded
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.study import Study, study_flock
from matchmaker.grade.places import Places
from matchmaker.pairs.chances import chick_table
from matchmaker.pairs.crossings import line_steps, open_crossings
from matchmaker.pairs.rules import Rule
from matchmaker.tables.read import read_folder
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping

EXAMPLES = Path(__file__).parents[2] / "examples"
PLACE = ("Alder", Sex.HEN)
FIVE = {PLACE: Places(line="Alder", sex=Sex.HEN, penned=0, wanted=10, old=5)}


@cache
def holm_fen() -> Study:
    return study_flock(build_flock(read_folder(EXAMPLES / "holm-fen")))


def looked_at(hens: tuple[str, ...], copies: Mapping[str, int]) -> tuple[float, float]:
    """The chances of a pullet of an Alder hen and a Sussex cock that has these copies."""
    study = holm_fen()
    rows = open_crossings(
        study.flock.settings, line_steps(study.flock, study.recurrent_share), study.loci
    )
    row = next(one for one in rows if one.name == "Alder hens")
    chances = Chances(chick_table(study, hens, ["S22-002"]), study.flock.settings.target)
    return chances.of(row, (hens, "S22-002"), Sex.HEN, copies)


@pytest.mark.parametrize(
    ("hens", "copies", "wanted", "parted"),
    [
        (("A26-020",), {"O": 1, "P": 0}, 0.5, 0.5),  # blue eggs and single comb: the genes parted
        (("A26-005",), {"O": 1, "P": 1}, 0.96, 0.0),
        (("A26-005",), {"O": 1, "P": 0}, 0.04, 0.04),
        # one of the two, nobody knows which: (0.5 · 1 + 0.04 · 0.5) / (1 + 0.5)
        (("A26-005", "A26-020"), {"O": 1, "P": 0}, 0.347, 0.347),
    ],
)
def test_what_shows_tells_how_likely_genes_have_parted(
    hens: tuple[str, ...], copies: dict[str, int], wanted: float, parted: float
) -> None:
    assert looked_at(hens, copies) == pytest.approx((wanted, parted), abs=0.005)


@pytest.mark.parametrize(("parted", "of_them"), [(0.5, 8), (0.0, 2)])
def test_chicks_in_which_genes_parted_get_bands_first(parted: float, of_them: int) -> None:
    """A marker that nearly always comes with the wanted gene must not decide against them."""
    chicks = [Hopeful(at=at, place=PLACE, family=at // 10, chance=0.96) for at in range(60)]
    chicks += [
        Hopeful(at=60 + at, place=PLACE, family=6, chance=0.5, parted=parted) for at in range(10)
    ]
    found = banded(chicks, FIVE, np.random.default_rng(1))
    assert sum(at >= 60 for at in found) == pytest.approx(of_them, abs=1)


def test_half_of_the_places_are_left_to_other_families() -> None:
    chicks = [Hopeful(at=at, place=PLACE, family=0, chance=0.5, parted=0.5) for at in range(30)]
    chicks += [Hopeful(at=30 + at, place=PLACE, family=1, chance=0.96) for at in range(30)]
    found = banded(chicks, FIVE, np.random.default_rng(1))
    assert sum(at >= 30 for at in found) >= 4


@pytest.mark.parametrize(
    ("rules", "chance", "useless"),
    [
        ((), 1.0, False),
        ((Rule.NO_WANTED_CHICKS,), 1.0, False),  # another step of its line may use the carrier
        ((Rule.NO_WANTED_CHICKS,), 0.02, True),
        ((Rule.UNPROVEN,), 0.02, True),
        ((Rule.UNFIT, Rule.NO_WANTED_CHICKS), 1.0, True),
    ],
)
def test_a_carrier_is_not_let_go_for_the_step_at_which_its_line_stands(
    rules: tuple[Rule, ...],
    chance: float,
    useless: bool,  # noqa: FBT001  parametrized
) -> None:
    one: Any = SimpleNamespace(lasting=[SimpleNamespace(rule=rule) for rule in rules])
    one.chance = chance
    assert retaining._of_no_use(one) is useless


BACK, CROSS = "backcross", "intercross"


def chosen(monkeypatch: pytest.MonkeyPatch, useful: Any, wish: dict[str, str]) -> Mapping[str, str]:
    """The steps at which lines end; ``useful`` says of steps and a line whether it can breed."""
    monkeypatch.setattr(steps, "_stepped", lambda study, moved: {**study, **moved})
    monkeypatch.setattr(steps, "_can_give", useful)
    found: Any = steps._able({}, sorted(wish), wish)  # type: ignore[arg-type]
    return dict(found)


def test_a_line_is_looked_at_again_when_its_mates_are_taken_back(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Alder gives nothing in a cross; Birch only with Alder's cocks, who are then not there."""

    def useful(at: Mapping[str, str], line: str) -> bool:
        return at[line] == BACK or (line == "Birch" and at["Alder"] == CROSS)

    wish = {"Alder": CROSS, "Birch": CROSS}
    assert chosen(monkeypatch, useful, wish) == {"Alder": BACK, "Birch": BACK}


def test_a_line_that_neither_step_helps_stays_where_it_was_wished(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def useful(at: Mapping[str, str], line: str) -> bool:
        return line == "Birch" and at["Birch"] == CROSS

    wish = {"Alder": BACK, "Birch": CROSS}
    assert chosen(monkeypatch, useful, wish) == {"Alder": BACK, "Birch": CROSS}


@pytest.mark.parametrize(
    ("symbol", "held", "back", "chance"),
    [
        ("lav", (0.0, 1.0, 0.0), True, 0.0),  # half of its chicks would carry unseen
        ("lav", (0.0, 0.0, 1.0), True, 1.0),
        ("lav", (0.0, 1.0, 0.0), False, 1.0),
        ("O", (0.0, 1.0, 0.0), True, 1.0),  # one copy shows: its chicks are told apart
    ],
)
def test_a_hidden_gene_is_crossed_out_before_it_is_taken_back(
    symbol: str,
    held: tuple[float, float, float],
    back: bool,  # noqa: FBT001  parametrized
    chance: float,
) -> None:
    of = SimpleNamespace(of=lambda _: held, carrier_probability=lambda _: held[1] + held[2])
    study: Any = SimpleNamespace(loci={symbol: catalogue()[symbol]}, genotypes={symbol: of})
    assert steps._carries(study, symbol, "K1", back=back) == chance


def test_old_birds_in_which_genes_parted_are_kept_though_young_ones_fill_the_room() -> None:
    kept, room = {"Y1", "Y2"}, Counter({PLACE: 0})
    parted: Any = [SimpleNamespace(band=f"P{at}", line="Alder", sex=Sex.HEN) for at in range(3)]
    places = {PLACE: replace(FIVE[PLACE], old=2)}
    retaining._keep_parted(kept, room, parted, places)
    assert kept == {"Y1", "Y2", "P0", "P1"}
    assert room[PLACE] == -2
