"""The season at a glance: what the plan gains and costs, what is used up, how lines stand."""

from __future__ import annotations

from statistics import fmean
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.census import line_census
from matchmaker.genetics.loci.locus import cautions
from matchmaker.pairs.risk import lines_at_risk
from matchmaker.plan.season.binding import what_binds, what_rules_reject
from matchmaker.plan.season.response import plan_response
from matchmaker.report.binding_words import binding_sentences, binding_table, rejects_table
from matchmaker.report.columns import Column, TextTable
from matchmaker.report.line_sentences import risk_sentence
from matchmaker.report.locus_sentences import LOCAL_RULES
from matchmaker.report.numbers import chicks_text, kinship_text, share_text
from matchmaker.report.odd_scores import odd_sentences, uncounted_sentences
from matchmaker.report.own_changes_words import beside_best_sentence, fault_sentences
from matchmaker.report.page.view import View
from matchmaker.report.pens import SURPLUS_CAUTION, flock_sentence, needs_sentence, proof_line
from matchmaker.report.plan_remarks import (
    certainty_sentences,
    change_sentences,
    idle_pen_sentences,
    lines_table,
    unused_by_reason,
    warning_sentences,
)
from matchmaker.report.precautions import spare_sentences
from matchmaker.report.response import response_sentence, response_table
from matchmaker.report.season_words import source_sentence, surplus_sentence
from matchmaker.report.wording import breed_name, counted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.genetics.study import Study
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.reporting import SeasonReport


DIFFERS: Final = (
    "The numbers of this section are those of the best plan. The pens that stand are not: what "
    "that costs is told under “Your own changes”."
)


def glance_view(report: SeasonReport) -> View:
    """What the plan gains and costs, what it uses up, and how the lines stand."""
    plan = report.plan
    used = what_binds(plan)
    values = {
        "source": source_sentence(report.guide),
        "differs": _differs(report),
        "figures": list(_figures(plan)),
        "lines": lines_table(plan),
        "change": change_table(plan),
        "traits": _traits(plan),
        "trait_sentences": list(_trait_sentences(plan)),
        "costs": [
            needs_sentence(plan.needs),
            _surplus(report),
            flock_sentence(plan),
        ],
        "binding": list(binding_sentences(plan, used)),
        "binding_table": binding_table(used),
        "rejects": rejects_table(what_rules_reject(report.table)),
        "warnings": [*_own_faults(report), *_warnings(plan)],
        "spares": list(spare_sentences(plan, report.care)),
        "changes": change_sentences(plan),
        "unused": unused_by_reason(plan),
        "proof": proof_line(plan, timed=False),
        "care": SURPLUS_CAUTION,
    }
    return View(values=values)


def _surplus(report: SeasonReport) -> str:
    """How many cockerels hatch and are not needed: a number of the pens that stand."""
    said = surplus_sentence(report.guide)
    return said if report.stands_as_planned else f"From the pens that stand: {said}"


def _differs(report: SeasonReport) -> str:
    """That the numbers are those of the best plan, where the pens that stand are others."""
    if report.changed is not None:
        return beside_best_sentence(report.changed)
    return "" if report.stands_as_planned else DIFFERS


def _own_faults(report: SeasonReport) -> Iterator[str]:
    """What the pens that stand break."""
    if report.changed is not None:
        yield from fault_sentences(report.changed)


def _figures(plan: SeasonPlan) -> Iterator[tuple[str, str]]:
    """The season in a few numbers, each with its words."""
    hens = len({pair.hen for pen in plan.pens for pair in pen.pairs})
    cocks = len({pen.cock for pen in plan.pens})
    pens = len({pen.pen for pen in plan.pens})
    words = "pen" if pens == 1 else "pens"
    yield str(pens), f"{words} with {counted(hens, 'hen')} and {counted(cocks, 'cock')}"
    yield chicks_text(plan.needs.chicks), "chicks to raise in all"
    yield chicks_text(plan.needs.wanted), "of them expected to be wanted"
    yield kinship_text(plan.figures.mean_inbreeding), "inbreeding of the chicks on average (0 to 1)"


def change_table(plan: SeasonPlan) -> TextTable:
    """Each line's breeders now and its chicks of this plan: breed share and inbreeding."""
    study = plan.table.study
    breed = breed_name(study.flock.settings.recurrent)
    columns = [
        Column(heading="Line"),
        Column(heading=f"{breed} now", number=True),
        Column(heading="of its chicks", number=True),
        Column(heading="Inbreeding now", number=True),
        Column(heading="of its chicks", number=True),
        Column(heading="Kinship within", number=True),
        Column(heading="to other lines", number=True),
    ]
    rows = []
    for line in line_census(study):
        within, others = (
            "–" if mean is None else kinship_text(mean) for mean in (line.within, line.to_others)
        )
        share, inbreeding = _of_chicks(plan, line.line)
        now = share_text(line.recurrent_share)
        rows.append(
            [line.line, now, share, _inbreeding_now(study, line.line), inbreeding, within, others]
        )
    legend = (
        "Now: mean of the line's living birds. Of its chicks: mean of the wanted chicks of this "
        f"plan, expected, a pair weighing by how many it gives (under “The lines” each pair counts "
        f"once). {breed}: share of that breed. Kinship within: of the line's breeders "
        "with each other, each with itself included; to other lines: with all others' breeders. "
        "Kinship and inbreeding go from 0 to 1."
    )
    return TextTable(columns=columns, rows=rows, legend=legend)


def _of_chicks(plan: SeasonPlan, line: str) -> tuple[str, str]:
    """Breed share and inbreeding of a line's wanted chicks, each pair weighing what it gives."""
    own = [
        (chosen.chicks * (pair.wanted_chance or 0.0), pair)
        for pen in plan.pens
        for pair, chosen in zip(pen.pairs, pen.chosen, strict=True)
        if pair.line == line
    ]
    whole = sum(weight for weight, _ in own)
    if not whole:
        return "–", "–"
    share = sum(weight * pair.recurrent_share for weight, pair in own) / whole
    kinship = sum(weight * pair.kinship for weight, pair in own) / whole
    return share_text(share), kinship_text(kinship)


def _inbreeding_now(study: Study, line: str) -> str:
    of = study.kinship.inbreeding()
    found = [of[bird.band] for bird in study.flock.living if bird.line == line]
    return kinship_text(fmean(found)) if found else "–"


def _traits(plan: SeasonPlan) -> TextTable | None:
    found = plan_response(plan)
    return response_table(plan.table.study.forecast, found) if found else None


def _trait_sentences(plan: SeasonPlan) -> Iterator[str]:
    settings = plan.table.study.flock.settings
    for one in plan_response(plan):
        sentence = response_sentence(one, settings)
        if sentence:
            yield sentence
    yield from uncounted_sentences(plan.table.study)
    yield from odd_sentences(plan.table.study)


def _warnings(plan: SeasonPlan) -> Iterator[str]:
    """What must not be overlooked, the heaviest first."""
    yield from warning_sentences(plan)
    for risk in lines_at_risk(plan.table):
        yield f"At risk of dying out: {risk_sentence(risk)}"
    yield from certainty_sentences(plan)
    yield from idle_pen_sentences(plan)
    loci = plan.table.study.loci
    found = cautions(loci)
    for symbol, caution in found.items():
        yield f"{symbol} ({loci[symbol].name}): {caution}."
    if found:
        yield LOCAL_RULES
