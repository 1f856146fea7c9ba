"""What is read but does not bear on the plan: days without eggs, wishes that cannot be met."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.pairs.rules import Rule, not_here

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.errors import Fault
    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import PairTable


def season_doubts(study: Study) -> list[Fault]:
    """Doubts about the season as set: no days to collect eggs, genes not counted exactly."""
    return [*egg_day_doubts(study.flock), *_counted_apart(study), *_sampled(study)]


def egg_day_doubts(flock: Flock) -> list[Fault]:
    """Doubt days between which no eggs can be collected."""
    settings, tables = flock.settings, flock.tables
    doubts = []
    if settings.collect_until < settings.collect_from:
        doubts.append(
            tables.setting_fault(
                "year.collect_until",
                kind="no-egg-days",
                value=str(settings.collect_until),
                problem=f"eggs are collected from {settings.collect_from}: no day is left",
                mend="set collect_from and collect_until so that there are days between them",
            )
        )
    return doubts


def _counted_apart(study: Study) -> Iterator[Fault]:
    """Linked loci that could not be worked out together."""
    for one, two in study.inferred.apart:
        if {one, two} <= set(study.flock.settings.target):
            yield study.flock.tables.setting_fault(
                f"target.{one}",
                kind="linked-loci",
                value=one,
                problem=f"{one} and {two} lie close together, but are counted as if they were "
                "inherited apart: a third locus is nearer to one of them, or the parentage is too "
                "uncertain for both at once. Where a row keeps chicks by both, far fewer (or more) "
                "may be wanted than it says",
                mend="keep chicks by one of the two; pairs marks such chances as approximate",
            )


def _sampled(study: Study) -> Iterator[Fault]:
    """Loci whose probabilities are estimates, the parentage being too uncertain to sum."""
    for symbol, found in study.genotypes.items():
        if found.method == "sampled":
            error = max(found.standard_error(bird) for bird in found.birds)
            yield study.flock.tables.setting_fault(
                f"loci.{symbol}",
                kind="sampled-genotypes",
                value=symbol,
                problem=f"so many parents are uncertain that the chances at {symbol} are sampled, "
                f"not exact: their standard error is up to {error:.3f}",
                mend="name parents, or test the birds that many chicks may descend from",
            )


def unheeded_wishes(table: PairTable) -> list[Fault]:
    """Wishes to allow a pair that no wish can allow: a bird is gone, or chicks would die."""
    tables, known = table.study.flock.tables, table.study.flock.by_band()
    doubts = []
    for record in tables.wishes:
        birds = (record.bird, record.partner)
        pairs = table.by_birds.get(birds) or table.by_birds.get(birds[::-1]) or ()
        final = [broken for pair in pairs for broken in pair.broken if broken.final]
        gone = (known[band] for band in birds if band in known and not known[band].alive_here)
        final += [] if pairs else [not_here(bird) for bird in gone]
        if record.wish == "allow" and final and not any(pair.allowed for pair in pairs):
            doubts.append(
                tables.fault(
                    "wishes",
                    record.row,
                    "wish",
                    kind="wish-unheeded",
                    value=record.wish,
                    problem=f"{record.bird} and {record.partner} stay rejected in spite of this "
                    f"wish: {_why_final(final[0])}",
                    mend="delete the wish, or choose another mate",
                )
            )
    return doubts


def _why_final(broken: Broken) -> str:
    if broken.rule is Rule.LETHAL_CHICKS:
        return (
            f"both carry {broken.facts['locus']}, and {broken.measured:.0%} of the chicks are "
            "expected to die or suffer from a double dose of it"
        )
    return f"{broken.facts['bird']} is {broken.facts['why']}"
