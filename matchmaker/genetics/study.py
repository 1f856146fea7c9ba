"""Everything genetics can say of a flock, computed once: what pairs and reports are built on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.errors import Fault, InputError
from matchmaker.flock.flock import Flock, in_order
from matchmaker.genetics.contradiction import contradiction
from matchmaker.genetics.evidence import read_evidence, unknown_loci
from matchmaker.genetics.factors import ContradictionError
from matchmaker.genetics.genotype import Genotypes, genotype_probabilities
from matchmaker.genetics.index import (
    TraitAim,
    merit_of,
    predict_traits,
    trait_aims,
    trait_defaults,
    trait_gains,
)
from matchmaker.genetics.kinship import KinshipMatrix, kinship_matrix
from matchmaker.genetics.loci import Locus, resolve_loci
from matchmaker.genetics.share import recurrent_shares

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.merit import TraitPrediction
    from matchmaker.genetics.observed import Evidence
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables


@dataclass(frozen=True, slots=True, kw_only=True)
class LocusReading:
    """The loci of a folder and what was seen at each, with every fault and doubt on the way."""

    loci: Mapping[str, Locus]
    evidence: Mapping[str, tuple[Evidence, ...]]
    faults: tuple[Fault, ...]
    doubts: tuple[Fault, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """Kinship, shares, genotype probabilities and merit of the birds of a flock.

    ``kinship`` covers the living birds and those of the standing plan; shares, genotypes and
    predictions cover every bird of the books.
    """

    flock: Flock
    kinship: KinshipMatrix
    recurrent_share: Mapping[str, float]
    loci: Mapping[str, Locus]
    genotypes: Mapping[str, Genotypes]
    aims: tuple[TraitAim, ...]
    predictions: Mapping[str, TraitPrediction]
    defaults: tuple[str, ...]

    def kinship_with(self, birds: Iterable[str]) -> KinshipMatrix:
        """The kinship of the living birds and of some others, which may be long gone."""
        missing = sorted(set(birds) - set(self.kinship.birds))
        if not missing:
            return self.kinship
        return kinship_matrix(self.flock.pedigree, [*self.kinship.birds, *missing])

    def gains(self, hen: str, cock: str) -> dict[str, float]:
        """Expected worth of a pair's chicks per trait, in genetic SDs."""
        return trait_gains(hen, cock, self.aims, self.predictions)

    def merit(self, bird: str) -> float:
        """A bird's own merit: its weighted sum of standardised predictions."""
        return merit_of(self.gains(bird, bird), self.aims)

    def reliability(self, bird: str) -> float:
        """How far to trust the merit: the mean reliability over the traits, by their weights."""
        weights = {aim.trait: aim.weight for aim in self.aims}
        total = sum(weights.values())
        if total == 0:
            return 0.0
        return sum(w * self.predictions[t].reliability[bird] for t, w in weights.items()) / total


def read_loci(tables: FolderTables) -> LocusReading:
    """All loci the folder names and the evidence on them; needs no sound pedigree."""
    settings = tables.settings
    if settings is None:
        return LocusReading(loci={}, evidence={}, faults=(), doubts=())
    loci, faults = resolve_loci(settings, _symbols(settings, tables))
    faults = [
        replace(fault, row=tables.setting_place(fault.column or "")["row"]) for fault in faults
    ]
    readings = {
        symbol: read_evidence(tables.birds, tables.seen, locus, settings.today)
        for symbol, locus in loci.items()
    }
    found = [] if faults else unknown_loci(tables.birds, tables.seen, loci)
    found += [fault for reading in readings.values() for fault in reading.faults]
    faults += _harmful_targets(settings, tables, loci)
    doubts = [doubt for reading in readings.values() for doubt in reading.doubts]
    doubts += _unread_columns(settings, tables, loci)
    return LocusReading(
        loci=loci,
        evidence={symbol: reading.evidence for symbol, reading in readings.items()},
        faults=(*faults, *_placed(found, tables)),
        doubts=tuple(_placed(doubts, tables)),
    )


def _symbols(settings: Settings, tables: FolderTables) -> list[str]:
    """Loci of the target, the configuration, the rows of matings and the birds' columns."""
    kept = (
        locus for row in settings.matings for sex in ("cock", "hen") for locus in row.keep_for(sex)
    )
    return list(dict.fromkeys([*settings.target, *settings.loci, *kept, *tables.loci_columns]))


def _harmful_targets(
    settings: Settings, tables: FolderTables, loci: Mapping[str, Locus]
) -> list[Fault]:
    """Targets that would make every bird of the breed one that dies or suffers of it."""
    return [
        tables.setting_fault(
            f"target.{symbol}",
            kind="harmful-target",
            value=str(copies),
            problem=f"{copies} copies of {symbol} ({loci[symbol].name}) kill or cripple: no breed "
            f"can be pure for it{f' ({loci[symbol].caution})' if loci[symbol].caution else ''}",
            mend="aim for 1 copy (carrier × non-carrier, for ever) or 0; look at your local rules "
            "and ask a veterinarian first",
        )
        for symbol, copies in settings.target.items()
        if symbol in loci and copies and copies in loci[symbol].lethal
    ]


def _unread_columns(
    settings: Settings, tables: FolderTables, loci: Mapping[str, Locus]
) -> list[Fault]:
    """Columns of the birds that seem to speak of a target locus under another heading."""
    found = [
        (header, symbol)
        for header in tables.extras.get("birds", ())
        for symbol in settings.target
        if symbol in loci
        and _words(header) & _words(" ".join((loci[symbol].name, *loci[symbol].shown_words)))
    ]
    return [
        tables.fault(
            "birds",
            None,
            header,
            kind="column-not-read",
            value=header,
            problem="this column is kept but not read",
            mend=f"if it says what you saw of {loci[symbol].name}, call it {symbol}",
        )
        for header, symbol in found
    ]


def _words(text: str) -> set[str]:
    plain = "".join(letter if letter.isalnum() else " " for letter in text.casefold())
    return {word.removesuffix("s") for word in plain.split()}


def _placed(faults: Iterable[Fault], tables: FolderTables) -> list[Fault]:
    """Put the files and headers as the keeper has them in place of the tables' usual names."""
    placed = []
    for fault in faults:
        table = fault.file.removesuffix(".csv")
        placed.append(replace(fault, **tables.place(table, fault.row, fault.column)))
    return placed


def study_flock(flock: Flock, also: Iterable[str] = ()) -> Study:
    """Work out kinship, shares, genotype probabilities and merit of a flock.

    Pairs are judged among the living birds, those of the standing plan and those in ``also``.

    Raises
    ------
    InputError
        If loci or evidence hold faults, or records contradict each other.
    """
    reading = read_loci(flock.tables)
    if reading.faults:
        raise InputError(in_order(reading.faults))
    genotypes, clashes = infer_genotypes(flock, reading)
    if clashes:
        raise InputError(in_order(clashes))
    settings, tables = flock.settings, flock.tables
    aims = trait_aims(settings, tables.traits)
    return Study(
        flock=flock,
        kinship=kinship_matrix(flock.pedigree, _in_view(flock, set(also))),
        recurrent_share=recurrent_shares(flock.pedigree, settings.recurrent),
        loci=reading.loci,
        genotypes=genotypes,
        aims=aims,
        predictions=predict_traits(flock, aims),
        defaults=(*flock.defaults, *trait_defaults(settings, tables.traits)),
    )


def infer_genotypes(
    flock: Flock, reading: LocusReading
) -> tuple[dict[str, Genotypes], list[Fault]]:
    """Genotypes per locus, and a fault for each locus whose records cannot all be true."""
    genotypes: dict[str, Genotypes] = {}
    faults = []
    for symbol, locus in reading.loci.items():
        evidence = reading.evidence[symbol]
        try:
            genotypes[symbol] = genotype_probabilities(
                flock.pedigree, locus, evidence, flock.settings.recurrent
            )
        except ContradictionError:
            faults.append(_clash(flock.pedigree, locus, evidence, flock))
    return genotypes, faults


def _clash(pedigree: Pedigree, locus: Locus, evidence: Sequence[Evidence], flock: Flock) -> Fault:
    clashing = contradiction(pedigree, locus, evidence, flock.settings.recurrent)
    if not clashing:
        return flock.tables.setting_fault(
            f"loci.{locus.symbol}",
            kind="impossible-pedigree",
            problem=f"no genotypes at {locus.symbol} fit the pedigree, whatever was seen",
            mend="check the frequencies given for the breeds, and the parents",
        )
    first = _placed([_as_fault(clashing[0])], flock.tables)[0]
    places = sorted((e.place for e in clashing), key=lambda place: (place.file, place.row))
    others = "; ".join(f"{place.file} row {place.row}: {place.words}" for place in places)
    return replace(
        first,
        problem=f"these records on {locus.name} ({locus.symbol}) cannot all be true: {others}",
        mend="one of them is wrong, or a parent or the sex of one of these birds is; if they "
        f"concern founders, a breed's frequency under [loci.{locus.symbol}] may be",
    )


def _as_fault(evidence: Evidence) -> Fault:
    place = evidence.place
    return Fault(
        kind="contradiction",
        file=place.file,
        row=place.row,
        column=place.column,
        value=place.words,
        problem="",
        mend="",
    )


def share_doubts(study: Study) -> list[Fault]:
    """Typed breed shares that the pedigree contradicts; the pedigree is what counts."""
    recurrent = study.flock.settings.recurrent
    return [
        study.flock.tables.fault(
            "birds",
            bird.record.row,
            "breed",
            kind="breed-against-pedigree",
            value=f"{bird.record.breed.get(recurrent, 0.0):g}",
            problem=f"{bird.band} is written as {bird.record.breed.get(recurrent, 0.0):.1%} "
            f"{recurrent}, its parents make it {study.recurrent_share[bird.band]:.1%}",
            mend="check the parents; the share by pedigree is used",
        )
        for bird in study.flock.birds
        if bird.record.breed
        and abs(bird.record.breed.get(recurrent, 0.0) - study.recurrent_share[bird.band]) > 0.01
    ]


def _in_view(flock: Flock, also: set[str]) -> list[str]:
    """The living birds, those of the standing plan and some more."""
    planned = also | {band for row in flock.tables.plan for band in (row.hen, row.cock)}
    return [b.band for b in flock.birds if b.alive_here or b.band in planned]
