"""The shipped catalogue: loci, the distances between them, and traits that are no single locus."""

from __future__ import annotations

import csv
from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, cast

from matchmaker.genetics.loci.locus import Allele, Linkage, Locus

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.genetics.loci.locus import (
        Confidence,
        Dominance,
        GeneStatus,
        OneCopyTold,
        ShownBy,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class NotOneGene:
    """A trait that keepers ask for as if it were a gene, and what to do with it instead."""

    name: str
    words: tuple[str, ...]
    why: str
    instead: str
    source: str
    confidence: str


@cache
def catalogue() -> dict[str, Locus]:
    """Return the shipped loci by symbol: single genes that fanciers work with.

    A locus with several named alleles stands there once for each of them.

    Examples
    --------
    >>> catalogue()["O"].name, catalogue()["S"].z_linked
    ('Blue eggshell', True)
    >>> [allele.symbol for allele in catalogue()["eWh"].series]
    ['E', 'ER', 'eWh', 'e+', 'eb']
    """
    rows = _rows("loci.csv")
    series = _series(rows)
    loci = {row["symbol"]: _from_row(row, series) for row in rows}
    linkages = _linkages(loci.values(), _rows("linkage.csv"))
    return {
        symbol: replace(locus, linkages=tuple(linkages[symbol])) for symbol, locus in loci.items()
    }


@cache
def not_one_gene() -> tuple[NotOneGene, ...]:
    """Return the traits that many genes decide, so that no locus can stand for them.

    Examples
    --------
    >>> [trait.name for trait in not_one_gene()]
    ['Feathered shanks', 'Earlobe colour', 'Brown eggshell']
    """
    return tuple(
        NotOneGene(
            name=row["name"],
            words=listed(row["words"]),
            why=row["why"],
            instead=row["instead"],
            source=row["source"],
            confidence=row["confidence"],
        )
        for row in _rows("not_one_gene.csv")
    )


def listed(cell: str) -> tuple[str, ...]:
    """Return the parts of a cell that stand between upright strokes.

    Examples
    --------
    >>> listed("pea | pea comb|")
    ('pea', 'pea comb')
    """
    return tuple(part.strip() for part in cell.split("|") if part.strip())


def _rows(file: str) -> list[dict[str, str]]:
    text = resources.files("matchmaker.genetics.loci").joinpath(file).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _series(rows: Iterable[dict[str, str]]) -> dict[str, tuple[Allele, ...]]:
    """Alleles of each locus whose rows have ranks, rank 1 hiding all others."""
    ranked: dict[str, list[dict[str, str]]] = defaultdict(list)
    for row in rows:
        if row["rank"]:
            ranked[row["shared_name"]].append(row)
    return {
        name: tuple(
            Allele(symbol=row["symbol"], name=row["name"], words=listed(row["shown_words"]))
            for row in sorted(members, key=lambda row: int(row["rank"]))
        )
        for name, members in ranked.items()
    }


def _linkages(loci: Iterable[Locus], rows: Iterable[dict[str, str]]) -> dict[str, list[Linkage]]:
    """Links of each locus both ways; a shared name stands for every allele that has it."""
    named: dict[str, list[str]] = defaultdict(list)
    for locus in loci:
        named[locus.shared_name or locus.symbol].append(locus.symbol)
    found: dict[str, list[Linkage]] = defaultdict(list)
    for row in rows:
        for here, there in ((row["one"], row["other"]), (row["other"], row["one"])):
            for symbol in named[here]:
                found[symbol] += [_link(row, neighbour) for neighbour in named[there]]
    return found


def _link(row: dict[str, str], neighbour: str) -> Linkage:
    return Linkage(
        symbol=neighbour,
        recombination=float(row["recombination"]) if row["recombination"] else None,
        source=row["source"],
        confidence=cast("Confidence", row["confidence"]),
    )


def _from_row(row: dict[str, str], series: Mapping[str, tuple[Allele, ...]]) -> Locus:
    return Locus(
        symbol=row["symbol"],
        name=row["name"],
        what=row["what"],
        wild_type=row["wild_type"],
        z_linked=row["inheritance"] == "Z",
        dominance=cast("Dominance", row["dominance"]),
        shown_by=cast("ShownBy", row["shown_by"]),
        shows_at_days=int(row["shows_at_days"]),
        penetrance=float(row["penetrance"]),
        lethal=tuple(int(copies) for copies in listed(row["lethal"])),
        dies=tuple(int(copies) for copies in listed(row["dies"])),
        donor_frequency=float(row["donor_frequency"]),
        shared_name=row["shared_name"],
        series=series.get(row["shared_name"], ()),
        shown_words=listed(row["shown_words"]),
        one_copy_words=listed(row["one_copy_words"]),
        either_words=listed(row["either_words"]),
        hidden_words=listed(row["hidden_words"]),
        one_copy_told=cast("OneCopyTold", row["one_copy_told"]),
        safe_copies_max=int(row["safe_copies_max"]),
        caution=row["caution"],
        note=row["note"],
        chromosome=row["chromosome"],
        gene=row["gene"],
        gene_status=cast("GeneStatus", row["gene_status"]),
        source=row["source"],
        confidence=cast("Confidence", row["confidence"]),
    )
