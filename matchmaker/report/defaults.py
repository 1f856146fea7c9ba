"""The defaults a plan leans on, said once and in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.genetics.loci.locus import recombination_between
from matchmaker.pairs.value import DEFAULT_SHARE_WEIGHT
from matchmaker.plan.posing.turns import season_turns
from matchmaker.report.days import span_text, whole_day
from matchmaker.report.numbers import chicks_text, percent
from matchmaker.report.wording import breed_name
from matchmaker.scheme_settings import DEFAULT_TEST_WORTH

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.genetics.study import Study
    from matchmaker.pairs.table import PairTable


def defaults_of(table: PairTable) -> tuple[str, ...]:
    """Every default in use, birds first, then loci and traits, then the season and the lines."""
    study = table.study
    return (*study.defaults, *_loci(study), *_season(table), *_lines(table))


def _loci(study: Study) -> Iterator[str]:
    recurrent = study.flock.settings.recurrent
    donors = sorted({pool.breed for pool in study.flock.pedigree.pools} - {recurrent})
    for symbol, locus in study.loci.items():
        assumed = [breed for breed in donors if breed not in locus.frequency]
        if assumed and locus.donor_frequency == 1:
            breeds = ", ".join(map(breed_name, assumed))
            yield f"founders of {breeds} taken as pure for {symbol} ({locus.name})"
        if recurrent not in locus.frequency:
            yield f"founders of {breed_name(recurrent)} taken as free of {symbol}"
    yield from _linkage(study)


def _linkage(study: Study) -> Iterator[str]:
    for one, two in study.linked:
        apart = recombination_between(study.loci[one], study.loci[two])
        if apart is not None:
            yield f"{one} and {two} passed on together but for {percent(apart)} of gametes"
    for one, two in study.inferred.apart:
        yield (
            f"{one} and {two} are linked, but counted as if they were not: "
            "wherever a row keeps chicks by both, its chances are approximate"
        )


def _season(table: PairTable) -> Iterator[str]:
    settings = table.study.flock.settings
    year = settings.year
    if year.pen_up is None:
        yield f"pens made up on {whole_day(settings.pen_up)}"
    if year.collect_from is None or year.collect_until is None:
        yield f"eggs collected from {span_text(settings.collect_from, settings.collect_until)}"
    given = year.model_fields_set
    usual = {
        "lay_per_week": f"{year.lay_per_week:g} eggs a hen and week",
        "fertility": f"fertility {year.fertility:g}",
        "hatch_of_fertile": f"hatch of fertile eggs {year.hatch_of_fertile:g}",
        "rearing": f"rearing {year.rearing:g}",
        "depression": f"inbreeding depression {year.depression:g} (of chicks raised, per unit of "
        "inbreeding)",
    }
    missing = [text for key, text in usual.items() if key not in given]
    if missing:
        yield "taken for the season: " + ", ".join(missing)
    if settings.weights.recurrent_share is None:
        yield (
            f"a wanted chick with a tenth more of {breed_name(settings.recurrent)} counts "
            f"{DEFAULT_SHARE_WEIGHT:g} more"
        )
    if "kinship_max" not in settings.limits.model_fields_set:
        yield f"kinship limit {settings.limits.kinship_max:g} (half sibs)"

    yield from _turns_and_tests(table)


def _turns_and_tests(table: PairTable) -> Iterator[str]:
    settings = table.study.flock.settings
    later = [
        turn for turn in season_turns(table.study.flock.tables.pens, settings) if turn.clean_out
    ]
    if later and "clean_out_days" not in settings.limits.model_fields_set:
        yield (
            f"eggs of a later turn count from {settings.limits.clean_out_days} days after an "
            "earlier cock was with the hens"
        )
    tests = [row for row in settings.matings if row.purpose == "test"]
    if any(row.worth is None for row in tests):
        yield (
            f"settling a bird of even odds by test chicks is worth {DEFAULT_TEST_WORTH:g} wanted "
            "chicks"
        )


def _lines(table: PairTable) -> Iterator[str]:
    assumed = [needs for needs in table.needs.values() if needs.assumed]
    if assumed:
        yield "chicks wanted, at 2.5 for each breeder: " + ", ".join(
            f"{needs.line} {chicks_text(needs.chicks_wanted)}" for needs in assumed
        )
