"""Made-up outlooks of the flock of Holm Fen: plausible numbers, drawn once from a seed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.ahead.outlook import Ahead, Outlook, Subject, Tally

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from matchmaker.ahead.figures import Truths
    from matchmaker.ahead.outlook import Numbers

LINES = ("Alder", "Birch", "Cedar", "Sussex")
TRAITS = ("comb", "egg_weight", "eggs_12wk", "temper", "type", "weight_20wk")
SUBJECT = Subject(
    springs=tuple(range(2027, 2034)),
    lines=LINES,
    working=(True, True, True, False),
    importance=(1.0, 1.0, 1.5, 0.5),
    target={"O": 2, "P": 0},
    traits=TRAITS,
    units=("", "g", "eggs", "", "", "g"),
)
STARTS = np.array([3.1, 56.0, 52.0, 3.4, 3.0, 2350.0])
STEPS = np.array([0.04, 0.2, 0.6, -0.03, 0.05, 12.0])
"""What a trait gains in a season."""
SPREADS = np.array([0.1, 0.5, 1.5, 0.02, 0.1, 40.0])
PLAN = "plan"


def tally(
    replicates: int = 40, *, seed: int = 1, subject: Subject = SUBJECT, worse: float = 0.0
) -> Tally:
    """Return a tally; ``worse`` takes so many parts of what a season gains away."""
    rng = np.random.default_rng(seed)
    springs, lines = len(subject.springs), len(subject.lines)
    shape = (replicates, springs, lines)
    season = np.arange(springs, dtype=np.float64)[None, :, None]
    working = np.array(subject.working)
    drawn = rng.poisson(14 - 4.0 * worse, shape).astype(float) + 2
    lost = np.zeros(shape, dtype=bool)
    lost[:, 4:, 1] = (rng.random(replicates) < 0.15 + 0.3 * worse)[:, None]
    birds: Numbers = np.where(lost, 0.0, drawn)
    carriers = np.where(working, rng.binomial(birds.astype(int), 0.5), 0.0)
    carriers = np.where(working & (birds > 0), np.maximum(carriers, 1), carriers)
    whole = np.where(season >= 4, rng.binomial(carriers.astype(int), 0.3), 0) * working
    cocks = rng.binomial(whole, 0.5)
    return Tally(
        birds=birds,
        share=_share(rng, season, shape, working, lost),
        carriers=carriers,
        whole=whole.astype(float),
        whole_cocks=cocks.astype(float),
        whole_hens=(whole - cocks).astype(float),
        inbreeding=np.where(lost, np.nan, rng.gamma(4, 0.003 * (1 + season) * (1 + worse), shape)),
        levels=_levels(rng, (*shape, len(subject.traits)), lost, worse),
        goal=birds.mean(axis=-1) / 12 * (1 - 0.3 * worse) + rng.normal(0, 0.03, shape[:2]),
        chicks=_bred(rng.poisson(110, shape[:2])),
        eggs=_bred(rng.poisson(260, shape[:2])),
    )


def _share(
    rng: np.random.Generator,
    season: Numbers,
    shape: tuple[int, ...],
    working: Truths,
    lost: Truths,
) -> Numbers:
    share = 1 - 0.12 * 0.6**season - rng.random(shape) * 0.01
    return np.where(lost, np.nan, np.where(working, share, 1.0))


def _levels(
    rng: np.random.Generator, shape: tuple[int, ...], lost: Truths, worse: float
) -> Numbers:
    traits = len(STARTS[: shape[-1]])
    season = np.arange(shape[1])[None, :, None, None]
    gains = STEPS[:traits] * (1 - worse) * season
    levels = STARTS[:traits] + gains + rng.normal(0, 1, shape) * SPREADS[:traits] * season / 6
    return np.where(lost[..., None], np.nan, levels)


def _bred(counts: NDArray[np.int64]) -> Numbers:
    found = counts.astype(float)
    found[:, 0] = 0
    return found


def outlook(policy: str = PLAN, sentence: str = "The tool's own plan.", **asked: float) -> Outlook:
    """Return the outlook of a policy."""
    replicates, worse = int(asked.get("replicates", 40)), asked.get("worse", 0.0)
    found = tally(replicates, seed=int(asked.get("seed", 1)), worse=worse)
    return Outlook(policy=policy, sentence=sentence, subject=SUBJECT, tally=found)


OTHERS = (
    ("rotation", "Each season the cocks of one line go to the hens of the next.", 0.5),
    ("best-to-best", "The best cock by eye gets the best hens, line after line.", 1.0),
    ("lower-kinship", "The plan, with a kinship limit of 0.0625.", 0.0),
)


def ahead(*others: tuple[str, str, float], replicates: int = 40) -> Ahead:
    """Return what was simulated of the plan and, side by side, of ``others``."""
    outlooks = [outlook(replicates=replicates)]
    for name, sentence, worse in others:
        one = outlook(name, sentence, replicates=replicates, worse=worse, seed=1 if worse else 2)
        outlooks.append(one)
    return Ahead(
        seed=1,
        subject=SUBJECT,
        outlooks=tuple(outlooks),
        defaults=("no bird is bought in", "every chick that a line wants is told by sight or DNA"),
    )


def changed(found: Ahead, **arrays: Numbers) -> Ahead:
    """Return it with arrays of the plan's tally put in place of others."""
    first = found.outlooks[0]
    plan = replace(first, tally=replace(first.tally, **arrays))
    return replace(found, outlooks=(plan, *found.outlooks[1:]))
