"""What is doubtful about scores and the settings of traits; nothing is ever dropped for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.errors import CellMend
from matchmaker.flock.listing import first_few, listed
from matchmaker.genetics.traits.forecast import FEWEST_BIRDS
from matchmaker.genetics.traits.odd import odd_score_text, odd_scores, rounded
from matchmaker.genetics.traits.reml import FEWEST_TO_ESTIMATE, Reason
from matchmaker.genetics.traits.scores import Told
from matchmaker.genetics.traits.senseless import senseless_settings
from matchmaker.genetics.traits.surprise import few_steps
from matchmaker.genetics.traits.together import is_approximate
from matchmaker.tables.toml_names import section

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.errors import Fault
    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.traits.forecast import Forecast, TraitForecast
    from matchmaker.genetics.traits.reml import Estimate
    from matchmaker.tables.folder import FolderTables

MOSTLY: Final = 0.8
"""A scale on which more than this part of the scores is the same tells little."""

ROWS_NAMED: Final = 6
"""So many rows are named; of more, how many there are."""

SCORES_NAMED: Final = 3
"""So many scores are told with band and row; of more, how many there are."""

DAYS_NAMED: Final = 3
"""So many days are named."""


def trait_doubts(forecast: Forecast, tables: FolderTables) -> list[Fault]:
    """Doubts about the scores of all traits that have an aim, and about what is said of them."""
    doubts: list[Fault] = []
    for trait in forecast.traits:
        doubts += _in_two_units(tables, trait)
        doubts += _wrong_sex(tables, trait)
        doubts += _telling_little(tables, trait)
        doubts += _not_estimated(tables, trait)
        doubts += _repeatability(tables, trait)
        doubts += senseless_settings(tables, forecast, trait)
    return [*doubts, *_odd(tables, forecast), *score_doubts(tables)]


def score_doubts(tables: FolderTables) -> list[Fault]:
    """Doubts about the rows of scores that show without any forecast."""
    return [*_written_twice(tables), *_without_date(tables)]


def _written_twice(tables: FolderTables) -> Iterator[Fault]:
    """The same scores of one bird on one day: the second row may be a slip of copying."""
    first: dict[tuple[object, ...], int] = {}
    for row in sorted(tables.scores, key=lambda one: one.row):
        key = (row.bird, row.date, tuple(sorted(row.traits.items())))
        earlier = first.setdefault(key, row.row)
        if row.traits and earlier != row.row:
            yield tables.fault(
                "scores",
                row.row,
                "bird",
                kind="score-twice",
                value=row.bird,
                problem=f"row {earlier} has the same scores of {row.bird} on the same day: both "
                "count",
                mend="take one out, unless the bird was scored twice and alike",
                mends=(
                    CellMend(table="scores", row=row.row, column="", was=row.bird, becomes=None),
                ),
            )


def _without_date(tables: FolderTables) -> Iterator[Fault]:
    """Where other scores are dated: at what age such a bird was scored is not known."""
    rows = sorted(row.row for row in tables.scores if row.date is None and row.traits)
    if rows and len(rows) < len(tables.scores):
        yield tables.fault(
            "scores",
            rows[0],
            "date",
            kind="score-without-date",
            value="",
            problem=f"{len(rows)} scores have no date ({_rows(rows)}): at what age, and so with "
            "whom they may be compared, is not known",
            mend="write the day on which it was scored",
        )


def _odd(tables: FolderTables, forecast: Forecast) -> Iterator[Fault]:
    for odd in odd_scores(forecast):
        yield tables.fault(
            "scores",
            odd.row,
            odd.trait,
            kind="odd-score",
            value=f"{odd.raw:g}",
            problem=f"{odd.band} has {odd_score_text(odd, forecast.trait(odd.trait).aim.unit)}",
            mend=f"check the writing; until then it counts as {rounded(odd.counted, odd.sd)}",
        )


def _in_two_units(tables: FolderTables, trait: TraitForecast) -> Iterator[Fault]:
    found = trait.mixed
    if found is None:
        return
    rows = sorted(trait.scored.rows[found.fewer].tolist())
    yield tables.fault(
        "scores",
        rows[0],
        trait.aim.trait,
        kind="mixed-units",
        value=f"{found.fewer_median:g}",
        problem=f"{len(rows)} scores of {trait.aim.trait} are about {found.fewer_median:g} "
        f"({_of_when(tables, rows, trait)}{_rows(rows)}), the other {len(found.others)} about "
        f"{found.others_median:g}: they seem to be in two units",
        mend=f"write them in one unit; until then {trait.aim.trait} does not count",
    )


def _of_when(tables: FolderTables, rows: list[int], trait: TraitForecast) -> str:
    """Days on which these scores and no others of the trait were taken, if there are such."""
    listed = set(trait.scored.rows.tolist())
    dates = {row.row: row.date for row in tables.scores if row.row in listed}
    theirs = {dates[row] for row in rows}
    others = {date for row, date in dates.items() if row not in set(rows)}
    days = sorted(str(date) for date in theirs if date is not None)
    if len(days) < len(theirs) or len(days) > DAYS_NAMED or theirs & others:
        return ""
    return f"of {', '.join(days)}, "


def _rows(rows: Sequence[int]) -> str:
    listed = ", ".join(map(str, rows[:ROWS_NAMED])) + (", ..." if rows[ROWS_NAMED:] else "")
    return f"row{'s' if len(rows) > 1 else ''} {listed}"


def _wrong_sex(tables: FolderTables, trait: TraitForecast) -> Iterator[Fault]:
    rows, name = trait.scored.wrong_sex, trait.aim.trait
    if rows:
        wanted = tables.settings.traits[name] if tables.settings else None
        given = wanted is not None and wanted.sex is not None
        instead = f", or take sex out of {section('traits', name)}" if given else ""
        yield tables.fault(
            "scores",
            rows[0],
            name,
            kind="score-wrong-sex",
            value=str(len(rows)),
            problem=_have_scores(tables, trait),
            mend=f"mend the band or the sex{instead}",
        )


def _have_scores(tables: FolderTables, trait: TraitForecast) -> str:
    """Whose scores are not counted, the first few by name."""
    name, left = trait.aim.trait, set(trait.scored.wrong_sex)
    rows = sorted((row for row in tables.scores if row.row in left), key=lambda row: row.row)
    other = "cock" if trait.aim.sex == "hen" else "hen"
    if len(rows) == 1:
        (row,) = rows
        score = f"{name} {row.traits[name]:g} (row {row.row})"
        return f"{row.bird} is a {other}, yet has {score}: not counted"
    told = [f"{row.bird} ({row.traits[name]:g}, row {row.row})" for row in rows]
    some = first_few(told, SCORES_NAMED) if len(told) > SCORES_NAMED else listed(told)
    return f"scores of {name} from {other}s are not counted: {some}"


def _telling_little(tables: FolderTables, trait: TraitForecast) -> Iterator[Fault]:
    birds, raw, name = trait.scored.birds_scored, trait.scored.raw, trait.aim.trait
    if birds < FEWEST_BIRDS:
        problem = f"{birds or 'no'} birds are scored for {name}: from fewer than {FEWEST_BIRDS} "
        yield _too_few(tables, name, birds, f"{problem}nothing is predicted")
    elif trait.prediction is None and trait.mixed is None:
        problem = f"{len(raw)} scores of {name} are hardly more than the contemporary groups and "
        rest = "crosses they are spread over: nothing is predicted"
        yield _too_few(tables, name, len(raw), problem + rest)
    elif few_steps(raw):
        yield from _mostly_alike(tables, name, raw)


def _too_few(tables: FolderTables, name: str, count: int, problem: str) -> Fault:
    return tables.fault(
        "scores",
        None,
        name,
        kind="too-few-scores",
        value=str(count),
        problem=problem,
        mend="score more birds, all of a hatch if you can; until then it does not count",
    )


def _mostly_alike(tables: FolderTables, name: str, raw: Matrix) -> Iterator[Fault]:
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
        return f"{estimate.birds} birds are scored, {FEWEST_TO_ESTIMATE} are needed"
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
    Points, and correlations with nothing else:

    >>> from types import SimpleNamespace
    >>> comb = SimpleNamespace(
    ...     aim=SimpleNamespace(trait="comb"),
    ...     prediction=SimpleNamespace(solved=None),
    ...     scored=SimpleNamespace(raw=np.array([2.0, 4.0, 5.0])),
    ...     told=Told.BOTH,
    ...     estimate=None,
    ... )
    >>> forecast_defaults(SimpleNamespace(traits=(comb,), correlations=np.eye(1)))
    ('points taken as numbers, each step as long as the next: comb',)
    """
    predicted = [trait for trait in forecast.traits if trait.prediction is not None]
    points = [trait.aim.trait for trait in predicted if few_steps(trait.scored.raw)]
    mixed = [trait.aim.trait for trait in predicted if trait.told is Told.CONFOUNDED]
    sentences = [*_estimates_said(predicted)]
    if points:
        sentences.append(
            f"points taken as numbers, each step as long as the next: {', '.join(points)}"
        )
    if mixed:
        sentences.append(
            "breed and the vigour of crosses taken off together, for too few birds are anything "
            "but pure or backcross to tell them apart (so the level of chicks of two crossbreds is "
            f"less sure): {', '.join(mixed)}"
        )
    return (*sentences, *_together_said(forecast, predicted))


def _together_said(forecast: Forecast, predicted: list[TraitForecast]) -> Iterator[str]:
    """What is taken of traits whose genes go together."""
    tied = (forecast.correlations - np.eye(len(forecast.traits))).any(axis=1)
    linked = [trait.aim.trait for trait, other in zip(forecast.traits, tied, strict=True) if other]
    if linked:
        taken = "taken to go together by their genes alone, not by their keeping"
        yield f"{taken}: {', '.join(linked)}"
    rough = [
        one.aim.trait
        for one in predicted
        if one.prediction is not None and is_approximate(one.prediction)
    ]
    if rough:
        yield (
            "correlated traits combined bird by bird, the flock being too large to solve them in "
            f"one: approximate predictions of {', '.join(rough)}"
        )


def _estimates_said(predicted: list[TraitForecast]) -> Iterator[str]:
    for trait in predicted:
        found = trait.estimate
        if found is not None and found.enough:
            yield (
                f"heritability of {trait.aim.trait} estimated from its {found.birds} scored birds: "
                f"{found.leaning:.2f} ({found.likely[0]:.2f} to {found.likely[1]:.2f} with 95 % "
                f"certainty), leaning on the {'published' if trait.aim.published else 'usual'} one"
            )
