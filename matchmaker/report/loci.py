"""The catalogue of loci: on the screen, as a document and as rows."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

from matchmaker import __version__
from matchmaker.genetics.loci.catalogue import NotOneGene, not_one_gene
from matchmaker.genetics.loci.locus import linkages_of
from matchmaker.report.locus_sentences import (
    LOCAL_RULES,
    SURE,
    copies_sentence,
    dominance_sentence,
    founders_sentence,
    gene_sentence,
    inheritance_sentence,
    inherited,
    lethal_fractions,
    lethal_sentences,
    linkage_sentence,
    one_copy_sentence,
    shown_sentence,
    shows,
    stated_frequencies,
    word_lines,
)
from matchmaker.report.numbers import share_text
from matchmaker.report.screen import Column, print_rows, say

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from rich.console import Console

    from matchmaker.genetics.loci.known import KnownLoci
    from matchmaker.genetics.loci.locus import Linkage, Locus
    from matchmaker.report.sheets import Cell, Sheet

Document = dict[str, Any]

COLUMNS: Final = (
    Column(heading="Locus"),
    Column(heading="Name", sentence=True),
    Column(heading="Inherited"),
    Column(heading="Shown by, from"),
    Column(heading="Safe", number=True),
    Column(heading="!"),
)
LINK_COLUMNS: Final = (
    Column(heading="Locus"),
    Column(heading="With"),
    Column(heading="Parted", number=True),
    Column(heading="How sure"),
    Column(heading="Source", sentence=True),
)
SHEET_HEADER: Final = (
    "locus",
    "name",
    "what",
    "inheritance",
    "dominance",
    "shown_by",
    "shows_at_days",
    "penetrance",
    "one_copy_told",
    "safe_copies_max",
    "lethal",
    "linked",
    "chromosome",
    "gene",
    "gene_status",
    "wild_type",
    "caution",
    "note",
    "source",
    "confidence",
)


def print_loci(console: Console, shown: Mapping[str, Locus], known: KnownLoci) -> None:
    """One locus a row, then what the columns mean."""
    print_rows(console, COLUMNS, [_row(locus, known.stated) for locus in shown.values()])
    console.print()
    changed = " *: your matchmaker.toml says something of it." if known.stated else ""
    say(
        console,
        "Inherited: whether one copy is enough to show; Z: on the sex chromosome, where a hen has "
        "one copy, from her sire. Safe: most copies a bird should have. !: it can hurt; read its "
        f"caution.{changed} All of one locus: matchmaker loci SYMBOL",
    )


def _row(locus: Locus, stated: Iterable[str]) -> list[str]:
    return [
        locus.symbol + ("*" if locus.symbol in stated else ""),
        locus.name,
        inherited(locus),
        shows(locus),
        str(locus.safe_copies_max),
        "!" if locus.caution else "",
    ]


def print_links(console: Console, shown: Mapping[str, Locus], known: KnownLoci) -> None:
    """Each two loci that are linked, once, the tightest first."""
    links: dict[frozenset[str], tuple[Locus, Linkage]] = {}
    for locus in shown.values():
        for linkage in linkages_of(locus, known.loci):
            pair = (_place(locus), _place(known.loci[linkage.symbol]))
            links.setdefault(frozenset(pair), (locus, linkage))
    ranked = sorted(links.values(), key=lambda link: (link[1].recombination is None, _parted(link)))
    print_rows(console, LINK_COLUMNS, [_link_row(*link) for link in ranked])
    console.print()
    say(
        console,
        "Parted: the share of gametes in which the two are parted; 50 % would be no linkage. Loci "
        "that stand here with nothing are not proved unlinked.",
    )


def _place(locus: Locus) -> str:
    """Alleles of one locus lie in one place."""
    return locus.shared_name or locus.symbol


def _parted(link: tuple[Locus, Linkage]) -> tuple[float, str]:
    return (link[1].recombination or 0.0, link[0].symbol)


def _link_row(locus: Locus, linkage: Linkage) -> list[str]:
    share = linkage.recombination
    parted = "?" if share is None else share_text(share)
    sure = SURE[linkage.confidence] if linkage.confidence else "yours"
    return [locus.symbol, linkage.symbol, parted, sure, linkage.source]


def print_not_one_gene(console: Console, traits: Iterable[NotOneGene]) -> None:
    """Traits asked for that no locus decides."""
    for trait in traits:
        console.print()
        say(console, f"{trait.name} is not one gene: {trait.why}. {trait.instead}.")


def asked_traits(words: str) -> tuple[NotOneGene, ...]:
    """Traits of many genes that plain words may mean."""
    asked = words.casefold()
    return tuple(
        trait
        for trait in not_one_gene()
        if asked and any(asked in one or one in asked for one in (*trait.words, trait.name.lower()))
    )


def print_locus(console: Console, locus: Locus, known: KnownLoci) -> None:
    """Everything known of one locus, in whole sentences."""
    say(console, f"{locus.symbol}: {locus.name}", style="bold")
    say(console, f"{locus.what}." if locus.what else "A locus of your own.", indent=2)
    _print_account(console, _of_the_bird(locus))
    say(console, "Words for it in your tables:", indent=2)
    for line in word_lines(locus):
        say(console, line, indent=4)
    _print_account(console, _of_the_gene(locus, known))


def _print_account(console: Console, account: Iterable[tuple[str, list[str]]]) -> None:
    for heading, sentences in account:
        for sentence in sentences:
            say(console, f"{heading}: {sentence}", indent=2)


def _of_the_bird(locus: Locus) -> Iterator[tuple[str, list[str]]]:
    """What shows, what may be bred and what may hurt."""
    yield "Inheritance", [inheritance_sentence(locus)]
    yield "Dominance", [dominance_sentence(locus)]
    yield "Shown by", [shown_sentence(locus)]
    yield "One copy or two", [one_copy_sentence(locus)]
    yield "Copies", [copies_sentence(locus)]
    if locus.caution:
        yield "Caution", [f"{locus.caution}. {LOCAL_RULES}"]
    yield "Matings", lethal_sentences(locus)
    if locus.note:
        yield "Worth knowing", [f"{locus.note}."]


def _of_the_gene(locus: Locus, known: KnownLoci) -> Iterator[tuple[str, list[str]]]:
    """Where it lies, what is assumed of founders, and who says so."""
    links = linkages_of(locus, known.loci)
    yield "Linked with", [linkage_sentence(link, known.loci) for link in links]
    yield "Place", [gene_sentence(locus)]
    yield "Other allele", [] if locus.series else [f"{locus.wild_type}, the wild type."]
    yield "Founders", [*stated_frequencies(locus), founders_sentence(locus)]
    sure = f" ({SURE[locus.confidence]})" if locus.confidence else ""
    yield "Source", [f"{locus.source}{sure}."]


def loci_document(
    shown: Mapping[str, Locus], known: KnownLoci, traits: Iterable[NotOneGene] = ()
) -> Document:
    """The loci shown, each with all that is known of it."""
    return {
        "schema": "matchmaker/loci/1",
        "version": __version__,
        "inputs": dict(known.inputs),
        "defaults": [],
        "loci": [locus_entry(locus, known) for locus in shown.values()],
        "not_one_gene": [asdict(trait) for trait in traits],
    }


def locus_entry(locus: Locus, known: KnownLoci) -> Document:
    """One locus; words by what they mean, linkages with their sources."""
    entry = asdict(locus)
    for key in ("linked_to", "recombination", "symbol"):
        del entry[key]
    words = {look: entry.pop(f"{look}_words") for look in ("shown", "one_copy", "either", "hidden")}
    return {
        "locus": locus.symbol,
        "yours": locus.symbol in known.stated,
        **entry,
        "words": words,
        "linkages": [asdict(linkage) for linkage in linkages_of(locus, known.loci)],
        "lethal_chicks": lethal_fractions(locus),
    }


def loci_sheet(shown: Mapping[str, Locus], known: KnownLoci) -> Sheet:
    """One locus a row."""
    from matchmaker.report.sheets import Sheet

    return Sheet(
        header=SHEET_HEADER, rows=tuple(_sheet_row(locus, known) for locus in shown.values())
    )


def _sheet_row(locus: Locus, known: KnownLoci) -> tuple[Cell, ...]:
    cells: dict[str, Cell] = {
        "locus": locus.symbol,
        "inheritance": "Z" if locus.z_linked else "autosomal",
        "lethal": "|".join(map(str, locus.lethal)),
        "linked": "|".join(
            f"{link.symbol} {'?' if link.recombination is None else f'{link.recombination:g}'}"
            for link in linkages_of(locus, known.loci)
        ),
    }
    return tuple(cells[name] if name in cells else getattr(locus, name) for name in SHEET_HEADER)
