"""The tally of a spring, bird by bird and place by place, against the arrays."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.birds import NO_ALLELE, Birds, Nature
from matchmaker.ahead.chicks import hatch
from matchmaker.ahead.outlook import FIELDS, Subject, Tally, stacked
from matchmaker.ahead.tallying import Measured, Scale, Used, tally
from matchmaker.genetics.drop.reading import labels_at
from matchmaker.genetics.drop.strands import founder_strands
from tests.ahead_birds import AUTOSOMAL, ON_THE_Z, nature, unrelated
from tests.scored_flocks import scored

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.pairs.table import PairTable

LINES, WORKING, IMPORTANCE = ("Alder", "Birch", "Pure"), (True, True, False), (1.0, 2.0, 0.5)
TARGET = {"L0": 2, "L1": 1}
WEIGHTS = 0.4
DEPRESSION = 0.6


@dataclass(frozen=True)
class Case:
    """Birds of two generations, today's and later ones, with their lines."""

    nature: Nature
    scale: Scale
    today: Measured
    later: Measured


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    return scored(tmp_path_factory.mktemp("tally") / "f")


@pytest.fixture(scope="module")
def aims(table: PairTable) -> tuple[TraitAim, ...]:
    """Aims of two traits: more is better, and an optimum; both count."""
    return tuple(aim for aim in table.study.aims if aim.trait in ("eggs", "size"))


def case(found: tuple[TraitAim, ...], seed: int) -> Case:
    rng = np.random.default_rng(seed)
    of = nature(
        genetic=((9.0, 1.0), (1.0, 4.0)),
        inheritances=(AUTOSOMAL, ON_THE_Z),
        level=56.0,
        slopes=(6.0, 2.0, -12.0),
    )
    subject = Subject(
        springs=(2027, 2028),
        lines=LINES,
        working=WORKING,
        importance=IMPORTANCE,
        target=TARGET,
        traits=("t0", "t1"),
        units=("", ""),
    )
    first = unrelated(12, of, rng)
    labels, breeds = rng.integers(0, 8, (12, 2)), rng.random((12, 2)) < 0.6
    alleles = rng.integers(0, 2, (12, 2, 2)).astype(np.int8)
    alleles[first.hens, 1, 1] = NO_ALLELE
    first = Birds(
        hens=first.hens,
        bits=founder_strands(of.grid, labels, breeds, 4),
        alleles=alleles,
        values=first.values,
        lasting=first.lasting,
    )
    cocks, hens = np.flatnonzero(~first.hens), np.flatnonzero(first.hens)
    chicks = hatch(first, of, rng.choice(cocks, 30), rng.choice(hens, 30), rng)
    draw = random.Random(seed)  # noqa: S311
    today = Measured(birds=first, lines=rng.integers(0, 3, 12), young=np.zeros(12, dtype=np.bool_))
    later = Measured(
        birds=first.take(np.arange(4)).joined(chicks),
        lines=np.array([draw.choice([0, 2] if seed % 2 else [0, 1, 2]) for _ in range(34)]),
        young=np.array([at >= 4 and seed % 3 > 0 for at in range(34)]),
    )
    scale = Scale(
        nature=of,
        subject=subject,
        aims=found,
        share_weight=WEIGHTS,
        depression=DEPRESSION,
        share=np.array([0.5, 0.6, 1.0]),
        genes=np.array([[0.0, 0.0], [1.0, -1.0], [0.5, 0.5]]),
    )
    return Case(of, scale, today, later)


def places(birds: Birds, at: int, of: Nature) -> list[tuple[float, bool, float]]:
    """Of every autosomal place: its weight, whether both labels are one, the recurrent part."""
    grid = of.grid
    labels = labels_at(birds.bits[at], np.arange(grid.places))
    bits = birds.bits[at, :, 0]
    found = []
    for place in range(grid.places):
        if grid.is_z[place]:
            continue
        ours = [(int(bits[strand, place // 64]) >> (place % 64)) & 1 for strand in (0, 1)]
        found.append(
            (
                float(grid.weights[place]),
                labels[0, place] == labels[1, place],
                sum(ours) / 2,
            )
        )
    return found


def share(birds: Birds, at: int, of: Nature) -> float:
    return sum(weight * ours for weight, _, ours in places(birds, at, of))


def inbred(birds: Birds, at: int, of: Nature) -> float:
    return sum(weight for weight, same, _ in places(birds, at, of) if same)


def genes(birds: Birds, at: int, of: Nature) -> NDArray[np.float64]:
    return birds.values[at] + of.depression * inbred(birds, at, of)  # type: ignore[no-any-return]


def copies(birds: Birds, at: int, locus: int) -> int:
    return sum(int(allele) == AUTOSOMAL.named for allele in birds.alleles[at, :, locus])


def target(birds: Birds, at: int) -> tuple[float, bool, bool]:
    """Part of the target, carrier, whole; a hen has one copy at most on the Z."""
    parts, carries = [], True
    for locus, wanted in enumerate(TARGET.values()):
        most = 1 if locus == 1 and birds.hens[at] else 2
        aim = min(wanted, most)
        worst = max(abs(other - aim) for other in range(most + 1))
        parts.append(1 - abs(copies(birds, at, locus) - aim) / worst)
        carries = carries and copies(birds, at, locus) > 0
    return sum(parts) / 2, carries, all(part > 1 - 1e-9 for part in parts)


def worth(one: Case, birds: Birds, at: int, line: int) -> float:
    """One, more for share and traits, never below 0.05; less what inbreeding costs."""
    found = 1 + WEIGHTS * (share(birds, at, one.nature) - one.scale.share[line]) * 10
    for trait, aim in enumerate(one.scale.aims):
        now, before = genes(birds, at, one.nature)[trait], one.scale.genes[line, trait]
        sd = float(one.nature.genetic[trait, trait]) ** 0.5
        if aim.optimum is None:
            gain = now - before if aim.sign > 0 else before - now
        else:
            gain = abs(56.0 + before - aim.optimum) - abs(56.0 + now - aim.optimum)
        found += aim.weight * gain / sd
    return float(max(found, 0.05)) * (1 - DEPRESSION * inbred(birds, at, one.nature))


def slowly(one: Case, measured: Measured) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for line, working in enumerate(WORKING):
        own = [at for at in range(len(measured.lines)) if measured.lines[at] == line]
        birds, of = measured.birds, one.nature
        young = [at for at in own if measured.young[at]] or own
        told = {at: target(birds, at) for at in own}
        row = {
            "birds": len(own),
            "share": mean([share(birds, at, of) for at in own]),
            "carriers": sum(told[at][1] for at in own),
            "whole": sum(told[at][2] for at in own),
            "whole_cocks": sum(told[at][2] and not birds.hens[at] for at in own),
            "whole_hens": sum(bool(told[at][2] and birds.hens[at]) for at in own),
            "inbreeding": mean([inbred(birds, at, of) for at in young]),
        }
        counted = [
            worth(one, birds, at, line) * (told[at][0] if working else 1)
            for at in own
            if told[at][1] or not working
        ]
        row["goal"] = mean(counted) if counted else 0.0
        for name, value in row.items():
            found.setdefault(name, []).append(value)
    goals = found.pop("goal")
    found["goal"] = [sum(a * b for a, b in zip(IMPORTANCE, goals, strict=True)) / sum(IMPORTANCE)]
    return found


def mean(values: list[float]) -> float:
    return sum(values) / len(values) if values else float("nan")


@pytest.mark.parametrize("seed", range(6))
def test_tallies_are_those_of_bird_by_bird(seed: int, aims: tuple[TraitAim, ...]) -> None:
    one = case(aims, seed)
    assert [aim.optimum is None for aim in one.scale.aims] == [True, False]
    for measured in (one.today, one.later):
        found = tally(measured, one.scale, Used(chicks=7, eggs=9))
        for name, expected in slowly(one, measured).items():
            np.testing.assert_allclose(
                np.atleast_1d(getattr(found, name)), expected, atol=1e-9, err_msg=name
            )
        assert (float(found.chicks), float(found.eggs)) == (7, 9)


def test_levels_are_those_of_birds_like_these_without_their_luck(
    aims: tuple[TraitAim, ...],
) -> None:
    """Pure level, breed, vigour, inbreeding and genes; what lasts in a bird alone is left out."""
    one = case(aims, 1)
    found = tally(one.later, one.scale).levels
    of, birds = one.nature, one.later.birds
    for line in (0, 2):
        expected = np.zeros(2)
        own = np.flatnonzero(one.later.lines == line)
        for at in own:
            mixed = sum(weight for weight, _, ours in places(birds, at, of) if ours == 0.5)
            breed = 6.0 * (share(birds, at, of) - 1) + 2.0 * mixed
            expected += 56.0 + breed + genes(birds, at, of)
        np.testing.assert_allclose(found[line], expected / len(own), atol=1e-9)


def test_only_a_line_without_birds_has_no_number(aims: tuple[TraitAim, ...]) -> None:
    one = case(aims, 3)
    found = tally(one.later, one.scale)
    assert found.birds[1] == 0
    for name in FIELDS:
        values = np.atleast_1d(getattr(found, name))
        for line in range(3):
            if len(values) == 3:
                missing = line == 1 and name in ("share", "inbreeding", "levels")
                assert np.isnan(values[line]).all() == missing, name
                assert np.isnan(values[line]).any() == missing, name
    assert not np.isnan(found.goal)


def test_the_scale_is_that_of_todays_birds(table: PairTable, aims: tuple[TraitAim, ...]) -> None:
    """A line without birds today is measured against all."""
    one = case(aims, 2)
    today = Measured(
        birds=one.today.birds,
        lines=np.where(one.today.lines == 1, 0, one.today.lines),
        young=one.today.young,
    )
    scale = Scale.of(today, one.nature, one.scale.subject, table.study)
    everyone = range(12)
    for line in range(3):
        own = [at for at in everyone if today.lines[at] == line] or everyone
        assert scale.share[line] == pytest.approx(
            mean([share(today.birds, at, one.nature) for at in own])
        )
        np.testing.assert_allclose(
            scale.genes[line],
            np.mean([genes(today.birds, at, one.nature) for at in own], axis=0),
            atol=1e-9,
        )


def test_the_goal_of_two_birds_by_hand(aims: tuple[TraitAim, ...]) -> None:
    """A cock with one copy of two and a hen with both, each a fifth more of the breed than before.

    Cock: 1 + 0.4 × 0.2/0.1 = 1.8, half of L0 and the whole of L1: 0.75, so 1.35. Hen: the whole
    target, 1.8. Mean 1.575; the other lines are empty: importance 1 of 3.5 gives 0.45.
    """
    one, own = case(aims, 1), AUTOSOMAL.named
    no = 1 - own
    birds = Birds(
        hens=np.array([False, True]),
        bits=founder_strands(
            one.nature.grid, np.array([[0, 1], [2, 3]]), np.array([[True, True]] * 2), 4
        ),
        alleles=np.array([[[own, own], [no, no]], [[own, own], [own, NO_ALLELE]]], dtype=np.int8),
        values=np.zeros((2, 2)),
        lasting=np.zeros((2, 2)),
    )
    scale = Scale(
        nature=one.nature,
        subject=one.scale.subject,
        aims=one.scale.aims,
        share_weight=WEIGHTS,
        depression=DEPRESSION,
        share=np.array([0.8, 0.8, 0.8]),
        genes=np.zeros((3, 2)),
    )
    two = Measured(birds=birds, lines=np.zeros(2, dtype=np.int64), young=np.ones(2, dtype=np.bool_))
    found = tally(two, scale)
    assert float(found.goal) == pytest.approx(0.45)
    assert (found.whole_cocks[0], found.whole_hens[0], found.carriers[0]) == (0, 1, 2)


def test_lines_live_while_they_carry_and_breed_true_with_both_sexes() -> None:
    shape = (2, 3)
    zero = np.zeros(shape)
    fields = dict.fromkeys(FIELDS, zero)
    fields |= {
        "birds": np.array([[3.0, 3.0, 3.0], [3.0, 0.0, 0.0]]),
        "carriers": np.array([[1.0, 0.0, 0.0], [2.0, 0.0, 0.0]]),
        "whole_cocks": np.array([[1.0, 0.0, 2.0], [0.0, 0.0, 0.0]]),
        "whole_hens": np.array([[1.0, 1.0, 0.0], [0.0, 0.0, 0.0]]),
    }
    one = Tally(**fields)
    assert one.alive((True, True, False)).tolist() == [[1, 0, 1], [1, 0, 0]]
    assert one.fixed.tolist() == [[1, 0, 0], [0, 0, 0]]
    both = stacked([one, one])
    assert both.birds.shape == (2, 2, 3)
    assert both.alive((True, True, False)).shape == (2, 2, 3)
