"""Breeding values drawn against the whole (co)variance matrix of all unknowns given all scores.

The matrix is written out from kinship, without Mendelian sampling or mixed-model equations: values
and lasting surroundings of all birds in all traits, and scores, are jointly normal, and levels and
slopes are known of nothing but the scores (generalised least squares). Scores are invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.ahead.worth import draw_worths, genetic_covariances, surrounding_sds
from matchmaker.flock.flock import build_flock
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.traits import model
from matchmaker.genetics.traits.forecast import forecast
from matchmaker.genetics.traits.scores import SHARE, VIGOUR
from matchmaker.tables.read import read_folder
from tests.builders import write_flock
from tests.oracle.animal_model import relationship
from tests.scored_flocks import FOUNDERS, PULLETS, SEEN, TRAITS, scores

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from matchmaker.ahead.worth import Worths
    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.traits.forecast import Forecast
    from tests.builders import Row

    Matrix = NDArray[np.float64]

DRAWS = 2500
TOGETHER = """
[[correlations]]
traits = ["eggs", "size"]
genetic = -0.5

[[correlations]]
traits = ["size", "temper"]
genetic = 0.3
"""


def flock_of(path: Path, more: str = "", told: list[Row] | None = None) -> Flock:
    """The flock with scores, hens scored twice for temper."""
    rows = scores() if told is None else told
    again = [{"bird": row["bird"], "temper": "4"} for row in rows[3:7]] if told is None else []
    folder = write_flock(
        path, (*FOUNDERS, *PULLETS), TRAITS + more, scores=[*rows, *again], seen=SEEN
    )
    return build_flock(read_folder(folder, known_loci=frozenset(catalogue())))


def drawn(flock: Flock, found: Forecast, draws: int = DRAWS) -> Worths:
    streams = [np.random.default_rng((11, draw)) for draw in range(draws)]
    return draw_worths(flock.pedigree, found, streams)


@dataclass(frozen=True, kw_only=True)
class Given:
    """Mean and (co)variances of values, then lasting parts (trait by trait), then effects."""

    mean: Matrix
    covariance: Matrix


def given_scores(flock: Flock, found: Forecast) -> Given:
    """The posterior of all unknowns, effects last."""
    related = relationship(flock.pedigree)
    birds, records = len(related), [one.scored.records for one in found.traits]
    lasting, passing = surrounding_sds(found)
    genes = np.kron(genetic_covariances(found), related)
    around = np.kron(np.diag(lasting**2), np.eye(birds))
    unknown = np.block([[genes, np.zeros_like(genes)], [np.zeros_like(genes), around]])
    owners = np.concatenate([at * birds + one.birds for at, one in enumerate(records)])
    z = np.zeros((len(owners), 2 * len(genes)))
    z[np.arange(len(owners)), owners] = z[np.arange(len(owners)), len(genes) + owners] = 1
    chance = np.concatenate(
        [np.full(len(one.birds), passing[at]) for at, one in enumerate(records)]
    )
    x = np.zeros((len(owners), 0))
    row = 0
    for one in records:
        own = np.zeros((len(owners), one.group_count + len(one.names)))
        span = slice(row, row := row + len(one.birds))
        own[span, : one.group_count] = np.eye(one.group_count)[one.groups]
        own[span, one.group_count :] = one.covariates
        x = np.hstack((x, own))
    inverse = np.linalg.inv(z @ unknown @ z.T + np.diag(chance**2))
    of_effects = np.linalg.inv(x.T @ inverse @ x)
    projection = inverse - inverse @ x @ of_effects @ x.T @ inverse
    y = np.concatenate([one.values for one in records])
    toward = unknown @ z.T
    crossed = -toward @ inverse @ x @ of_effects
    return Given(
        mean=np.concatenate((toward @ projection @ y, of_effects @ x.T @ inverse @ y)),
        covariance=np.block(
            [[unknown - toward @ projection @ toward.T, crossed], [crossed.T, of_effects]]
        ),
    )


def check(draws: Matrix, mean: Matrix, covariance: Matrix) -> None:
    """Draws (draws, unknowns) have the mean and the (co)variances, within five standard errors."""
    variances = covariance.diagonal()
    assert (np.abs(draws.mean(axis=0) - mean) <= 5 * np.sqrt(variances / len(draws))).all()
    errors = np.sqrt((np.outer(variances, variances) + covariance**2) / len(draws))
    beyond = np.abs(np.cov(draws.T) - covariance) - 5 * errors
    assert beyond.max() < 1e-9


@pytest.mark.parametrize("more", ["", TOGETHER], ids=["each alone", "correlated"])
def test_values_and_lasting_parts_are_drawn_as_the_scores_leave_them_open(
    tmp_path: Path, more: str
) -> None:
    flock = flock_of(tmp_path, more)
    found = forecast(flock)
    worths, given = drawn(flock, found), given_scores(flock, found)
    parts = [worths.values.transpose(0, 2, 1), worths.lasting.transpose(0, 2, 1)]
    draws = np.concatenate([part.reshape(DRAWS, -1) for part in parts], axis=1)
    size = draws.shape[1]
    check(draws, given.mean[:size], given.covariance[:size, :size])


@pytest.mark.parametrize("more", ["", TOGETHER], ids=["each alone", "correlated"])
def test_slopes_and_levels_are_drawn_with_the_values(tmp_path: Path, more: str) -> None:
    flock = flock_of(tmp_path, more)
    found = forecast(flock)
    worths, given = drawn(flock, found), given_scores(flock, found)
    place = 2 * worths.values[0].size
    for at, one in enumerate(found.traits):
        records = one.scored.records
        hens = [
            number for number, sex in enumerate(one.scored.contemporaries.sexes) if sex == "hen"
        ]
        of_hens = np.isin(records.groups, hens)
        weights = np.zeros(len(given.mean))
        for group in range(records.group_count):
            weights[place + group] = (records.groups[of_hens] == group).mean()
        slopes_at = place + records.group_count
        for name, slopes in ((SHARE, worths.share_slope), (VIGOUR, worths.vigour)):
            if name in records.names:
                one_slope = np.zeros(len(given.mean))
                one_slope[slopes_at + records.names.index(name)] = 1.0
                weights += one_slope * (name == SHARE)
                check_sum(slopes[:, at], given, one_slope)
            else:
                assert not slopes[:, at].any()
        check_sum(worths.pure_level[:, at], given, weights)
        # a bird's value and the level: what they owe to the same scores
        with_bird = weights.copy()
        with_bird[at * len(found.birds) + 3] += 1
        check_sum(worths.pure_level[:, at] + worths.values[:, 3, at], given, with_bird)
        place = slopes_at + len(records.names)


def check_sum(draws: Matrix, given: Given, weights: Matrix) -> None:
    variance = float(weights @ given.covariance @ weights)
    assert abs(draws.mean() - weights @ given.mean) <= 5 * (variance / DRAWS) ** 0.5
    assert draws.var(ddof=1) == pytest.approx(variance, rel=5 * (2 / DRAWS) ** 0.5)


def test_a_flock_solved_sparse_is_drawn_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    flock = flock_of(tmp_path)
    dense = drawn(flock, forecast(flock), 5)
    monkeypatch.setattr(model, "LARGE", 0)
    sparse = drawn(flock, forecast(flock), 5)
    for name in ("values", "lasting", "pure_level", "share_slope", "vigour"):
        assert getattr(sparse, name) == pytest.approx(getattr(dense, name), abs=1e-6)


def test_of_a_trait_with_too_few_scores_nothing_is_drawn(tmp_path: Path) -> None:
    few = [row for row in scores() if row["bird"] in {"P0", "P1", "P2"}]
    flock = flock_of(tmp_path, told=few)
    found = forecast(flock)
    worths = drawn(flock, found, 3)
    assert not worths.values.any()
    assert not worths.lasting.any()
    assert (worths.pure_level == [one.pure_level for one in found.traits]).all()
    assert not genetic_covariances(found).any()
    lasting, passing = surrounding_sds(found)
    assert not lasting.any()
    assert passing == pytest.approx([one.scored.raw.std(ddof=1) for one in found.traits])


def test_without_traits_there_is_nothing_to_draw(tmp_path: Path) -> None:
    folder = write_flock(tmp_path, (*FOUNDERS, *PULLETS), seen=SEEN)
    flock = build_flock(read_folder(folder, known_loci=frozenset(catalogue())))
    worths = drawn(flock, forecast(flock), 2)
    assert worths.values.shape == (2, len(flock.birds), 0)
    assert worths.pure_level.shape == (2, 0)
