"""The backcross pairs whose chicks carry a line on: of the best carriers, each once."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.flock.flock import build_flock
from matchmaker.genetics.study import study_flock
from matchmaker.pairs.chances import chick_table
from matchmaker.pairs.crossings import Crossing, Purpose, kept_copies
from matchmaker.pairs.table import judge_pairs
from matchmaker.route.played import stepped
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.genetics.study import Study
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable


def best_backcrosses(table: PairTable, lines: Sequence[str]) -> Mapping[str, tuple[Pair, ...]]:
    """Return the best backcross pairs of each line, each of a carrier of its own.

    Where the target has genes to be rid of, carriers whose chicks are likelier to be free of them
    come first; then those of more value.
    """
    allowed = [pair for pair in table.allowed if _is_backcross(pair)]
    joined = {pair.line for pair in allowed}
    missing = [line for line in lines if line not in joined]
    if missing:
        allowed += [pair for pair in _as_backcross(table).allowed if pair.line in missing]
    return {line: _distinct(table, [p for p in allowed if p.line == line]) for line in lines}


def _is_backcross(pair: Pair) -> bool:
    return pair.crossing is not None and pair.crossing.purpose is Purpose.BACKCROSS


def _as_backcross(table: PairTable) -> PairTable:
    """The pairs there would be if every line that is not pure were backcrossed this season."""
    lines = (*table.steps.backcross, *table.steps.intercross)
    flock = table.study.flock
    changed = replace(flock.tables, settings=stepped(flock.settings, lines, "backcross"))
    return judge_pairs(study_flock(build_flock(changed)))


def _distinct(table: PairTable, pairs: Sequence[Pair]) -> tuple[Pair, ...]:
    """The best pairs of different carriers, as many as the line has families.

    Each sex that some pair can give is among the chicks, as both are needed to intercross.
    """
    shares = table.study.recurrent_share
    best: dict[str, Pair] = {}
    clean = _clean_chances(table.study, pairs)
    step = max(clean.values(), default=0.0) / 20 or 1.0

    def rank(one: Pair) -> tuple[float, float, float, tuple[str, str, str]]:
        return (-round(clean[one.key] / step), -(one.value or 0.0), one.kinship, one.key)

    for pair in sorted(pairs, key=rank):
        best.setdefault(min((pair.hen, pair.cock), key=lambda band: (shares[band], band)), pair)
    ranked = list(best.values())
    if not ranked:
        return ()
    most = table.study.flock.settings.line(ranked[0].line or "").families
    chosen = ranked[:most]
    for sex in Sex:
        able = [pair for pair in ranked if (pair.wanted_by_sex or {}).get(sex)]
        if able and not any(pair in chosen for pair in able):
            chosen[-1] = able[0]
    return tuple(chosen)


def _clean_chances(study: Study, pairs: Sequence[Pair]) -> Mapping[tuple[str, str, str], float]:
    """Chance that a chick carries what is wanted and nothing that is to go; 0 where nothing is."""
    target = study.flock.settings.target
    gone = {locus: (0,) for locus, copies in target.items() if copies == 0}
    if not gone or not pairs:
        return dict.fromkeys((pair.key for pair in pairs), 0.0)
    kept = kept_copies(Purpose.BACKCROSS, target, study.loci)
    keep = {sex: {**loci, **gone} for sex, loci in kept.items()}
    crossing = Crossing(name="", hens=(), cocks=(), chicks="", purpose=Purpose.BACKCROSS, keep=keep)
    hens, cocks = sorted({pair.hen for pair in pairs}), sorted({pair.cock for pair in pairs})
    found = chick_table(study, hens, cocks).wanted(crossing)
    both = found.true_sons + found.true_daughters
    return {pair.key: float(both[hens.index(pair.hen), cocks.index(pair.cock)]) for pair in pairs}
