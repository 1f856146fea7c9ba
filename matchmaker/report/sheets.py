"""Rows for ``--csv``: the facts of the screen, one row a thing, shares and chances as 0 to 1."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.report.documents import cost_entry, fault_entry, pair_entry, pen_entry
from matchmaker.report.finding_words import cell_text, effect_text
from matchmaker.report.flock_document import bird_entries
from matchmaker.report.rebalance_document import move_entries
from matchmaker.report.wording import reasons
from matchmaker.tables.records import PlanRecord

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.explain.prices import Cost
    from matchmaker.genetics.kin.kinship import KinshipMatrix
    from matchmaker.mends.effects import Effects
    from matchmaker.mends.reach import Reach
    from matchmaker.pairs.table import Key, PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.rebalance.rebalancing import Rebalance

Cell = str | int | float | None

OF_TRAITS: Final = {"genes": "prediction", "level": "level", "reliability": "reliability"}
"""Columns of each trait, and where their figures stand among a bird's details."""

DIGITS: Final = 6
"""Decimals of the figures of traits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A header and its rows."""

    header: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def _sheet(header: Sequence[str], entries: Sequence[dict[str, Cell]]) -> Sheet:
    rows = tuple(tuple(entry[name] for name in header) for entry in entries)
    return Sheet(header=tuple(header), rows=rows)


def findings_sheet(found: Sequence[Reach], effects: Effects) -> Sheet:
    """Faults and doubts, one a row, what changes most in the plan first."""
    entries = [
        {
            "severity": "fault" if reach.stops else "doubt",
            **fault_entry(reach.fault),
            "touches": len(reach.touched),
            "weight": round(reach.weight, DIGITS),
            "safe": "yes" if reach.fault.safe else "no",
            "cells": "; ".join(cell_text(mend, table=True) for mend in reach.fault.mends),
            "effect": _effect(reach, effects),
        }
        for reach in found
    ]
    plain = ("severity", "kind", "file", "row", "column", "value", "problem", "mend")
    return _sheet((*plain, "touches", "weight", "cells", "safe", "effect"), entries)


def _effect(reach: Reach, effects: Effects) -> str:
    measured = reach.fault in effects.of or reach.fault in effects.left_out
    return effect_text(effects.of.get(reach.fault)) if measured else ""


def flock_sheet(table: PairTable, band: str | None = None) -> Sheet:
    """One living bird a row (or only ``band``); per locus the chance of carrying it.

    Per trait what its genes count and the level they stand for in a pure bird, in the trait's
    unit, and how far to trust that.
    """
    symbols = list(table.study.loci)
    plain = ("bird", "sex", "line", "status", "inbreeding", "mean_kinship", "recurrent_share")
    birds = table.study.flock
    chosen = birds.living if band is None else [birds.by_band()[band]]
    traits = [trait.aim.trait for trait in table.study.forecast.traits]
    entries = []
    for bird in bird_entries(table.study, chosen):
        carries = {s: table.study.genotypes[s].carrier_probability(bird["bird"]) for s in symbols}
        row = {**bird, **{f"carries_{s}": chance for s, chance in carries.items()}}
        for trait in traits:
            details = bird["trait_details"][trait]
            for what, key in OF_TRAITS.items():
                row[f"{what}_{trait}"] = round(details[key], DIGITS)
        entries.append(row)
    of_traits = (f"{what}_{trait}" for trait in traits for what in OF_TRAITS)
    of_loci = (f"carries_{symbol}" for symbol in symbols)
    header = (*plain, "share_spread", *of_loci, "merit", "reliability", *of_traits)
    return _sheet(header, entries)


def kinship_sheet(kinship: KinshipMatrix, birds: Sequence[str]) -> Sheet:
    """The kinship matrix of some birds, bands in the header row and the first column."""
    at = [kinship.position(bird) for bird in birds]
    rows: list[tuple[Cell, ...]] = [
        (bird, *(float(kinship.values[row, column]) for column in at))
        for bird, row in zip(birds, at, strict=True)
    ]
    return Sheet(header=("bird", *birds), rows=tuple(rows))


def pairs_sheet(table: PairTable, costs: Mapping[Key, Cost] | None = None) -> Sheet:
    """One pair a row, its rules and sentences joined; with its cost, if costs are given."""
    entries = [
        {
            **pair_entry(pair),
            **({} if costs is None else cost_entry(costs.get(pair.key))),
            "allowed": "yes" if pair.allowed else "no",
            "rules": " ".join(str(broken.rule) for broken in pair.broken),
            "detail": reasons(pair.broken),
        }
        for pair in table.pairs
    ]
    plain = ("hen", "cock", "row", "purpose", "line", "allowed", "rules", "kinship")
    terms = ("recurrent_share", "wanted_chance", "merit", "chicks", "worth", "value", "detail")
    priced = () if costs is None else ("costs_at_least", "costs_at_most", "no_plan")
    return _sheet((*plain, *terms, *priced), entries)


def plan_sheet(plan: SeasonPlan) -> Sheet:
    """One hen of the plan a row."""
    entries = [
        {"pen": pen.pen, "cock": pen.cock, **hen}
        for pen in plan.pens
        for hen in pen_entry(pen)["hens"]
    ]
    terms = ("kinship", "wanted_chance", "recurrent_share", "merit", "chicks", "value")
    return _sheet(("pen", "line", "cock", "hen", "row", *terms), entries)


def moves_sheet(answer: Rebalance) -> Sheet:
    """One bird to be moved a row."""
    header = ("bird", "from", "to", "out_on", "in_on", "with", "eggs_credited_from")
    return _sheet(header, move_entries(answer))


def plan_records(plan: SeasonPlan) -> list[PlanRecord]:
    """The plan as rows of ``plan.csv``."""
    return [
        PlanRecord(
            row=0,
            pen=pen.pen,
            line=pair.line or "",
            cock=pen.cock,
            hen=pair.hen,
            why=f"{chosen.row}: value {chosen.value:.3f}",
        )
        for pen in plan.pens
        for pair, chosen in zip(pen.pairs, pen.chosen, strict=True)
    ]
