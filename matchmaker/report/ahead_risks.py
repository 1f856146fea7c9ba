"""What an outlook warns of: lines that die out, inbreeding, traits that lose ground."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.ahead.figures import died_in, of_flock, trait_change
from matchmaker.genetics.loci.locus import recombination_between
from matchmaker.report.ahead_words import (
    chance_number,
    chance_text,
    decimal,
    error_digits,
    error_text,
    how_often,
    spread,
)
from matchmaker.report.numbers import kinship_text
from matchmaker.report.wording import listed
from matchmaker.tolerance import LIMIT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.ahead.outlook import Ahead, Numbers
    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.genetics.traits.forecast import TraitForecast
    from matchmaker.pairs.table import PairTable

OFTEN: Final = 0.1
"""The part of the replicates from which too much inbreeding is spoken of."""

SELDOM: Final = 0.5
"""Below this chance of breeding true the reason is looked for."""

MOSTLY: Final = 0.5
"""From this part of a change on the recurrent share is said to bring most of it."""

SURELY: Final = 0.9
"""The part of the replicates from which a trait is said to lose ground."""

NEW_BLOOD: Final = (
    "Inbreeding costs hatch, growth and laying, and a closed flock's only rises. Unrelated birds "
    "help most while a line still has birds to put them with: from a healthy flock, in "
    "quarantine first, as your veterinarian and your local rules ask."
)
"""The usual caution."""


def risk_texts(ahead: Ahead, table: PairTable) -> Iterator[str]:
    """What is most at risk if the plan is followed, in sentences."""
    yield from _nobody_carries(table)
    yield from _gone_already(ahead)
    yield dying_text(ahead)
    yield from _clinging(ahead, table)
    yield from _inbred(ahead, table)
    known = {one.aim.trait: one for one in table.study.forecast.traits}
    for at, trait in enumerate(ahead.subject.traits):
        if trait in known:
            yield from _losing(ahead, at, known[trait])


def _nobody_carries(table: PairTable) -> Iterator[str]:
    """Which genes of the target no living bird can have: no line will ever breed true for them."""
    study = table.study
    for locus, copies in study.flock.settings.target.items():
        chance = study.genotypes[locus].carrier_probability
        if copies and not any(chance(bird.band) > LIMIT for bird in study.flock.living):
            yield (
                f"By the tables no bird of the flock carries {locus}: whatever the chances above "
                "allow, no line can breed true before a bird that does comes from outside."
            )


def _gone_already(ahead: Ahead) -> Iterator[str]:
    """The lines that have no bird today: nothing that is simulated could say more of them."""
    if gone := [line for at, line in enumerate(ahead.subject.lines) if _is_gone(ahead, at)]:
        yield (
            f"Without a living bird today: {listed(gone)}. A line without birds comes again only "
            "if some row of matings brings chicks into it."
        )


def _is_gone(ahead: Ahead, line: int) -> bool:
    return not ahead.plan.tally.birds[:, 0, line].any()


def _clinging(ahead: Ahead, table: PairTable) -> Iterator[str]:
    """Of a target that is seldom reached because an unwanted gene lies near a wanted one."""
    fixed = how_often(of_flock(ahead.plan)["fixed"][:, -1])
    loci, target = table.study.loci, ahead.subject.target
    wanted = [symbol for symbol, copies in target.items() if copies]
    near = [
        (one, other)
        for one, other in product(wanted, [symbol for symbol in target if symbol not in wanted])
        if {one, other} <= set(loci)
        and (recombination_between(loci[one], loci[other]) or 0.5) < 0.5
    ]
    if fixed.share < SELDOM:
        for one, other in near:
            yield (
                f"{other}, which you do not want, lies near {one}, which you do: few birds have "
                "the one without the other, and the target hangs on them. A plan counts them as "
                "any other carrier: ask for them by use or together in wishes.csv; what that may "
                "bring, --policy parted-twice shows."
            )


def dying_text(ahead: Ahead) -> str:
    """Which line dies out most often, how often and since when; then the others that do.

    Those that have no bird today are said to be gone, not at risk (unless all are).
    """
    subject, replicates = ahead.subject, ahead.plan.replicates
    gone = [died_in(ahead.plan, at) for at in range(len(subject.lines))]
    chances = [how_often((~np.isnan(springs)).astype(np.float64)) for springs in gone]
    here = [at for at in range(len(gone)) if not _is_gone(ahead, at)] or range(len(gone))
    order = sorted(here, key=lambda at: -chances[at].times)
    worst, last = order[0], subject.springs[-1]
    if not chances[worst].times:
        which = "No line" if len(here) == len(gone) else "No other line"
        return (
            f"{which} died out in any of the {replicates} replicates: the chance that a given one "
            f"does by spring {last} is {chance_text(chances[worst])}."
        )
    by = int(np.ceil(np.nanmedian(gone[worst])))
    what = "carrier" if subject.working[worst] else "bird"
    others = [
        f"{subject.lines[at]} {chance_number(chances[at])} %"
        for at in order[1:]
        if chances[at].times
    ]
    return (
        f"Most at risk of dying out is {subject.lines[worst]}: with a chance of "
        f"{chance_text(chances[worst])} it has no {what} left in spring {last}; in half of these "
        f"replicates none was left by spring {by}."
        + (f" The others: {', '.join(others)}." if others else "")
    )


def _inbred(ahead: Ahead, table: PairTable) -> Iterator[str]:
    """The lines whose young birds are often more inbred than the rules let chicks of a pair be."""
    settings = table.study.flock.settings
    together: dict[float, list[str]] = {}
    for at, line in enumerate(ahead.subject.lines):
        own = settings.line(line).kinship_max
        limit = settings.limits.kinship_max if own is None else own
        level = ahead.plan.tally.inbreeding[:, -1, at]
        over = how_often(np.where(np.isnan(level), np.nan, level > limit))
        if over.replicates and over.share >= OFTEN:
            together.setdefault(limit, []).append(f"{line}, {chance_text(over)}")
    for limit, lines in together.items():
        yield (
            "The chance that a line's young birds are on average more inbred in spring "
            f"{ahead.subject.springs[-1]} than chicks of the closest pair you allow "
            f"({kinship_text(limit)}): {'; '.join(lines)}."
        )


def _losing(ahead: Ahead, at: int, known: TraitForecast) -> Iterator[str]:
    """The sentence about a trait that loses ground in nearly every replicate."""
    aim, brought = known.aim, brought_by_share(ahead, known.share_slope)
    found = trait_change(ahead.plan, at)
    lost = loss(found.today, found.last, aim)
    worse = how_often(np.where(np.isnan(lost), np.nan, lost > 0))
    if not worse.replicates or worse.share < SURELY:
        return
    change = spread(found.change)
    digits = error_digits(change.se)
    unit = f" {ahead.subject.units[at]}".rstrip()
    away = f" moves away from its best, {aim.optimum:g}{unit}," if aim.optimum is not None else ""
    yield (
        f"{aim.trait}{away or ' loses ground'} in {worse.times} of {worse.replicates} "
        f"replicates: {decimal(change.mean, digits, sign=True)} ± "
        f"{error_text(change.se, digits)}{unit} by spring {ahead.subject.springs[-1]}. "
        + _why_lost(aim, brought, change.mean)
    )


def _why_lost(aim: TraitAim, brought: float, change: float) -> str:
    """What to do about it: where the recurrent breed brings most of it no weight would help."""
    if change and brought / change >= MOSTLY:
        digits = 1 if abs(brought) < 10 else 0
        unit = f" {aim.unit}".rstrip()
        return (
            "Most of it comes with the recurrent breed or the lost vigour of crosses "
            f"({decimal(brought, digits, sign=True)}{unit} by the share gained): no weight holds "
            "it."
        )
    return (
        f"It counts {aim.weight:.2f} in the plan: a higher weight in matchmaker.toml would hold it "
        "better."
    )


def brought_by_share(ahead: Ahead, slope: float) -> float:
    """What the change of the recurrent share changes in a trait, in its unit: mean of the lines."""
    working = np.array(ahead.subject.working) | (not any(ahead.subject.working))
    share = ahead.plan.tally.share[:, :, working]
    gained = share[:, -1] - share[:, 0]
    return slope * float(np.nanmean(gained)) if np.isfinite(gained).any() else 0.0


def loss(today: Numbers, last: Numbers, aim: TraitAim) -> Numbers:
    """How much further from its aim a trait is in the last spring; 0 where it has no aim.

    Examples
    --------
    >>> import numpy as np
    >>> from types import SimpleNamespace
    >>> down, best = (SimpleNamespace(sign=s, optimum=o) for s, o in ((-1, None), (0, 58.0)))
    >>> today, last = np.array([57.0, 60.0]), np.array([59.5, 59.0])
    >>> loss(today, last, down).tolist(), loss(today, last, best).tolist()
    ([2.5, -1.0], [0.5, -1.0])
    """
    if aim.optimum is not None:
        return np.asarray(np.abs(last - aim.optimum) - np.abs(today - aim.optimum))
    return np.asarray(-aim.sign * (last - today))
