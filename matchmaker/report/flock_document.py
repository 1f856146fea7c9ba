"""What ``flock --json`` prints: the flock and every living bird, or one bird in depth."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from matchmaker.genetics.census import census
from matchmaker.genetics.genotypes.observed import birds_of
from matchmaker.genetics.genotypes.progeny import LEVELS
from matchmaker.genetics.portrait import portrait
from matchmaker.genetics.shares.spread import share_ranges
from matchmaker.report.bird_traits import detail_entries, in_sds, origin_entries
from matchmaker.report.defaults import defaults_of
from matchmaker.report.documents import document_head, rule_entry
from matchmaker.report.odd_scores import odd_entries, uncounted_entries
from matchmaker.report.traits import trait_entries

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.census import Rates
    from matchmaker.genetics.genotypes.account import Account, Chances, Record, Step
    from matchmaker.genetics.genotypes.progeny import ProgenyTest
    from matchmaker.genetics.kin.forebears import Parent
    from matchmaker.genetics.kin.founders import FounderGenes
    from matchmaker.genetics.portrait import LocusPortrait
    from matchmaker.genetics.shares.segment import DonorSegment
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.table import PairTable
    from matchmaker.report.documents import Document
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import Sex


def flock_document(table: PairTable, band: str | None = None) -> Document:
    """Every living bird with the lines, founders, rates and doubts; or only ``band``, in depth."""
    study = table.study
    head = document_head("flock", study.flock.tables, defaults_of(table))
    if band is not None:
        entries = bird_entries(study, [study.flock.by_band()[band]])
        return {
            **head,
            "birds": [{**entries[0], **depth_entry(table, band)}],
            "odd_scores": odd_entries(study, band),
        }
    found = census(study)
    return {
        **head,
        "birds": bird_entries(study, study.flock.living),
        "traits": trait_entries(study),
        "odd_scores": odd_entries(study),
        "traits_not_counted": uncounted_entries(study),
        "lines": [asdict(line) for line in found.lines],
        "founders": found.founders and founders_entry(found.founders),
        "rates": rates_entry(found.rates),
        "doubts": [
            {"kind": str(doubt.kind), "locus": doubt.locus or None, "birds": list(doubt.birds)}
            for doubt in found.doubts
        ],
    }


def founders_entry(found: FounderGenes) -> Document:
    """What is left of the founders in the living breeders."""
    return {
        "founders": [
            {
                "bird": part.founder.bird,
                "unwritten_parent": part.founder.unwritten,
                "contribution": part.contribution,
                "retention": part.retention,
                "retention_error": part.retention_error,
            }
            for part in found.parts
        ],
        "effective_founders": found.effective_founders,
        "genomes_left": found.genomes_left,
        "genomes_left_error": found.genomes_left_error,
        "genome_equivalents": found.genome_equivalents,
        "genome_equivalents_error": found.genome_equivalents_error,
        "drops": found.drops,
    }


def rates_entry(rates: Rates) -> Document:
    """How fast inbreeding rises, in how many years, and how many birds the breeders are worth."""
    inbreeding, diversity = rates.inbreeding, rates.diversity
    return {
        "inbreeding_per_generation": inbreeding.per_generation,
        "effective_size": inbreeding.effective_size,
        "effective_size_by_sexes": rates.size_by_sexes,
        "generations": inbreeding.generations,
        "by_generation": [asdict(row) for row in inbreeding.by_generation],
        "generation_years": rates.interval.years,
        "mean_kinship": diversity and diversity.mean_kinship,
        "gene_diversity": diversity and diversity.gene_diversity,
        "kinship_genome_equivalents": diversity and diversity.genome_equivalents,
    }


def bird_entries(study: Study, birds: Sequence[Bird]) -> list[Document]:
    """What genetics says of each bird, in numbers."""
    bands = [bird.band for bird in birds]
    kinship = study.kinship_with(bands)
    breeders = [bird.band for bird in study.flock.breeders]
    mean_kinship, inbreeding = kinship.mean_with(breeders), kinship.inbreeding()
    ranges = share_ranges(study.flock.pedigree, study.flock.settings.recurrent, bands)
    details = detail_entries(study, bands)
    return [
        {
            "bird": bird.band,
            "sex": bird.sex and str(bird.sex),
            "line": bird.line,
            "status": str(bird.record.status),
            "inbreeding": inbreeding[bird.band],
            "mean_kinship": mean_kinship[bird.band],
            "recurrent_share": study.recurrent_share[bird.band],
            "share_spread": ranges[bird.band].deviation,
            "genotypes": genotype_entry(study, bird.band, bird.sex),
            "merit": study.merit(bird.band),
            "reliability": study.reliability(bird.band),
            "traits": {
                trait.aim.trait: in_sds(trait, study.forecast.position(bird.band))
                for trait in study.forecast.traits
            },
            "trait_details": details[bird.band],
        }
        for bird in birds
    ]


def genotype_entry(study: Study, bird: str, sex: Sex | None) -> dict[str, dict[str, float]]:
    """Per locus, the probability of each number of copies the bird can have."""
    entry = {}
    for symbol, locus in study.loci.items():
        possible = locus.copy_numbers(sex) if sex else range(3)
        chances = study.genotypes[symbol].of(bird)
        entry[symbol] = {str(copies): float(chances[copies]) for copies in possible}
    return entry


def depth_entry(table: PairTable, band: str) -> Document:
    """One bird's forebears, nearest possible mates, and each locus with its evidence."""
    facts = portrait(table.study, band)
    return {
        "parents": [parent_entry(parent) for parent in facts.parents],
        "inbred_through": [
            {
                "shared": str(one.shared),
                "bird": one.band or None,
                "pools": [
                    {"breed": pool.breed, "source": pool.source or None} for pool in one.pools
                ],
                "inbreeding": one.inbreeding,
                "ways": [list(way) for way in one.ways],
            }
            for one in facts.inbred_through
        ],
        "nearest": [
            {"bird": one.band, "kinship": one.kinship, "relation": one.relation or None}
            for one in facts.nearest
        ],
        "trait_origins": origin_entries(table.study, band),
        "loci": {of.locus.symbol: locus_entry(of, table.study.flock.tables) for of in facts.loci},
        "rules": [rule_entry(broken) for broken in table.of_birds.get(band, ())],
    }


def parent_entry(parent: Parent) -> Document:
    """Who a parent may be, with the parents of each likely candidate."""
    return {
        "parent": parent.side,
        "candidates": [{"bird": band, "chance": chance} for band, chance in parent.candidates],
        "breeds": list(parent.breeds),
        "source": parent.source or None,
        "assumed": parent.assumed,
        "above": [
            {"bird": band, "parents": [parent_entry(one) for one in above]}
            for band, above in parent.above
        ],
    }


def locus_entry(of: LocusPortrait, tables: FolderTables) -> Document:
    """How the chances at one locus came about, and the test chicks that would settle them."""
    return {
        "account": account_entry(of.account, tables),
        "donor_segment": of.segment and segment_entry(of.segment),
        "tests": [progeny_entry(test) for test in of.tests],
    }


def segment_entry(segment: DonorSegment) -> Document:
    """The donor's piece around its allele if the bird carries it; lengths in centimorgans."""
    return {
        "chromosome": segment.place.chromosome or None,
        "arms": list(segment.place.arms),
        "meioses": list(segment.meioses),
        "sides": list(segment.sides),
        "length": segment.length,
    }


def account_entry(found: Account, tables: FolderTables) -> Document:
    """Start, steps and end; chances are of 0, 1 and 2 copies."""
    return {
        "start": chances_entry(found.start),
        "steps": [step_entry(step, tables) for step in found.steps],
        "end": chances_entry(found.end),
    }


def step_entry(step: Step, tables: FolderTables) -> Document:
    """One step: whose records it adds, and the chances before and after."""
    return {
        "whose": str(step.kin),
        "records": [record_entry(record, tables) for record in step.records],
        "before": chances_entry(step.before),
        "after": chances_entry(step.after),
    }


def record_entry(record: Record, tables: FolderTables) -> Document:
    """One record: what it says of which birds, and where it stands."""
    evidence, place = record.evidence, record.evidence.place
    return {
        "locus": record.symbol,
        "birds": list(birds_of(evidence)),
        "words": place.words,
        **tables.place(place.file.removesuffix(".csv"), place.row, place.column),
    }


def chances_entry(chances: Chances) -> dict[str, float]:
    """Probability by number of copies."""
    return {str(copies): chance for copies, chance in enumerate(chances)}


def progeny_entry(test: ProgenyTest) -> Document:
    """One progeny test; ``chicks`` by how sure it makes, null where no number does."""
    return {
        "question": str(test.question),
        "mate": str(test.mate),
        "mate_copies": test.mate_copies,
        "chicks_judged": test.judged and str(test.judged),
        "chicks": {f"{level:g}": test.chicks(level) for level in LEVELS},
        "seen_at_days": test.days,
        "one_contrary_chick_is_proof": test.decisive,
        "obstacle": test.obstacle and str(test.obstacle),
    }
