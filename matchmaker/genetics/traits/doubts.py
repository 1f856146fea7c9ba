"""What is doubtful about scores and the settings of traits; nothing is ever dropped for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.forecast import FEWEST_BIRDS
from matchmaker.genetics.traits.reml import FEWEST_BIRDS as BIRDS_TO_ESTIMATE
from matchmaker.genetics.traits.reml import Reason
from matchmaker.genetics.traits.scores import Told
from matchmaker.genetics.traits.surprise import few_steps, outliers

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.errors import Fault
    from matchmaker.genetics.traits.forecast import Forecast, TraitForecast
    from matchmaker.genetics.traits.reml import Estimate
    from matchmaker.genetics.traits.surprise import Surprise
    from matchmaker.tables.folder import FolderTables

MOSTLY: Final = 0.8
"""A scale on which more than this part of the scores is the same tells little."""

ROWS_NAMED: Final = 6
"""So many rows are named; of more, how many there are."""


def trait_doubts(forecast: Forecast, tables: FolderTables) -> list[Fault]:
    """Doubts about the scores of all traits that have an aim, and about what is said of them."""
    doubts: list[Fault] = []
    for trait in forecast.traits:
        doubts += _surprising(tables, forecast, trait)
        doubts += _wrong_sex(tables, trait)
        doubts += _telling_little(tables, trait)
        doubts += _not_estimated(tables, trait)
        doubts += _repeatability(tables, trait)
    return doubts


def _surprising(tables: FolderTables, forecast: Forecast, trait: TraitForecast) -> Iterator[Fault]:
    if trait.prediction is None:
        return
    scored = trait.scored
    for odd in outliers(trait.prediction, scored.records, scored.raw):
        band = forecast.birds[int(scored.records.birds[odd.record])]
        yield tables.fault(
            "scores",
            int(scored.rows[odd.record]),
            trait.aim.trait,
            kind="odd-score",
            value=f"{scored.raw[odd.record]:g}",
            problem=f"{band} has {_against(trait, odd)}",
            mend="check the writing; it is counted as it stands",
        )


def _against(trait: TraitForecast, odd: Surprise) -> str:
    """The score and what is expected of it, both as the keeper would write them."""
    scored = trait.scored
    raw = float(scored.raw[odd.record])
    expected = raw - (odd.value - odd.expected)
    numbers = f"{_rounded(expected, odd.sd)} ± {_rounded(odd.sd, odd.sd)}"
    unit = f" {trait.aim.unit}" if trait.aim.unit else ""
    return (
        f"{trait.aim.trait} {raw:g}, where {numbers}{unit} is expected from its contemporaries and "
        "kin"
    )


def _rounded(value: float, error: float) -> str:
    """A number with no more decimals than its error leaves it.

    Examples
    --------
    >>> _rounded(51.84, 7.2), _rounded(2.8731, 0.412), _rounded(2233.1, 160.0)
    ('52', '2.9', '2233')
    """
    decimals = max(0, -int(np.floor(np.log10(error)))) if error > 0 else 2
    return f"{value:.{decimals}f}"


def _wrong_sex(tables: FolderTables, trait: TraitForecast) -> Iterator[Fault]:
    rows = trait.scored.wrong_sex
    if rows:
        other = "cocks" if trait.aim.sex == "hen" else "hens"
        listed = ", ".join(map(str, rows[:ROWS_NAMED])) + (", ..." if rows[ROWS_NAMED:] else "")
        yield tables.fault(
            "scores",
            rows[0],
            trait.aim.trait,
            kind="score-wrong-sex",
            value=str(len(rows)),
            problem=f"{trait.aim.trait} is scored on {trait.aim.sex}s, but {len(rows)} of its "
            f"scores are of {other} (rows {listed}): not counted",
            mend=f"mend the bands or the sexes, or take sex out of [traits.{trait.aim.trait}]",
        )


def _telling_little(tables: FolderTables, trait: TraitForecast) -> Iterator[Fault]:
    name, raw = trait.aim.trait, trait.scored.raw
    birds = trait.scored.birds_scored
    if birds < FEWEST_BIRDS:
        yield tables.fault(
            "scores",
            None,
            name,
            kind="too-few-scores",
            value=str(birds),
            problem=f"{birds or 'no'} birds are scored for {name}: from fewer than {FEWEST_BIRDS} "
            "nothing is predicted",
            mend="score more birds, all of a hatch if you can; until then it does not count",
        )
    elif few_steps(raw):
        values, counts = np.unique(raw, return_counts=True)
        most = int(counts.argmax())
        if counts[most] > MOSTLY * len(raw):
            yield tables.fault(
                "scores",
                None,
                name,
                kind="scores-alike",
                value=f"{values[most]:g}",
                problem=f"{counts[most] / len(raw):.0%} of the scores of {name} are "
                f"{values[most]:g}: such a scale tells little",
                mend="score with finer steps, or birds against each other within their hatch",
            )


def _not_estimated(tables: FolderTables, trait: TraitForecast) -> Iterator[Fault]:
    aim, estimate = trait.aim, trait.estimate
    if not aim.estimate or (estimate is not None and estimate.enough):
        return
    birds = trait.scored.birds_scored
    why = f"{birds} birds are scored" if estimate is None else _why_not(estimate)
    yield tables.setting_fault(
        f"traits.{aim.trait}.h2",
        kind="h2-not-estimated",
        value="estimate",
        problem=f"the flock's own scores do not tell the heritability of {aim.trait} yet ({why}): "
        f"{aim.heredity.h2:g} is taken",
        mend="leave it, it is tried again with every score; or write a number",
    )


def _why_not(estimate: Estimate) -> str:
    if estimate.reason is Reason.FEW_BIRDS:
        return f"{estimate.birds} birds are scored, {BIRDS_TO_ESTIMATE} are needed"
    if estimate.reason is Reason.MANY_BIRDS:
        return f"{estimate.birds} birds are more than can be worked out"
    if estimate.reason is Reason.NO_SPREAD:
        return "contemporaries do not differ"
    return f"it may be anything from {estimate.low:.2f} to {estimate.high:.2f}"


def _repeatability(tables: FolderTables, trait: TraitForecast) -> Iterator[Fault]:
    wanted = tables.settings.traits[trait.aim.trait] if tables.settings else None
    used = trait.aim.heredity
    if wanted is None or wanted.repeatability is None or wanted.repeatability >= used.h2:
        return
    yield tables.setting_fault(
        f"traits.{trait.aim.trait}.repeatability",
        kind="repeatability-below-h2",
        value=f"{wanted.repeatability:g}",
        problem=f"scores of one bird cannot be less alike than its genes make them: "
        f"{used.repeatability:g} is taken, as the heritability",
        mend="raise repeatability, or lower h2",
    )


def forecast_defaults(forecast: Forecast) -> tuple[str, ...]:
    """Sentences on what the scores themselves decided, and on what they cannot tell.

    Examples
    --------
    >>> from matchmaker.genetics.traits.forecast import Forecast
    >>> none = np.zeros(0)
    >>> forecast_defaults(
    ...     Forecast(
    ...         birds=(),
    ...         traits=(),
    ...         shares=none,
    ...         inbreeding=none,
    ...         heterozygosity=none,
    ...         correlations=np.eye(0),
    ...         bird_errors=np.zeros((0, 0, 0)),
    ...     )
    ... )
    ()
    """
    predicted = [trait for trait in forecast.traits if trait.prediction is not None]
    points = [trait.aim.trait for trait in predicted if few_steps(trait.scored.raw)]
    mixed = [trait.aim.trait for trait in predicted if trait.told is Told.CONFOUNDED]
    sentences = [*_estimates_said(predicted)]
    if points:
        sentences.append(f"points taken as numbers, each step as long as the next: {_list(points)}")
    if mixed:
        sentences.append(
            "breed and the vigour of crosses taken off together, for too few birds are anything "
            f"but pure or backcross to tell them apart: {_list(mixed)}"
        )
    return tuple(sentences)


def _estimates_said(predicted: list[TraitForecast]) -> Iterator[str]:
    for trait in predicted:
        found = trait.estimate
        if found is not None and found.enough:
            yield (
                f"heritability of {trait.aim.trait} estimated from its {found.birds} scored birds: "
                f"{found.h2:.2f}, with 95 % certainty {found.low:.2f} to {found.high:.2f}"
            )


def _list(traits: list[str]) -> str:
    return ", ".join(traits)
