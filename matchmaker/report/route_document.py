"""The JSON document of ``route``, and its rows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.documents import document_head
from matchmaker.report.route_words import (
    by_copies,
    chicks_sentence,
    keep_sentences,
    marker_sentence,
    pitfall_sentence,
    way_words,
)
from matchmaker.report.sheets import Sheet
from matchmaker.report.stopping import stopping_entries
from matchmaker.route.steps import LEVELS
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.report.documents import Document
    from matchmaker.report.sheets import Cell
    from matchmaker.route.genome import Mix
    from matchmaker.route.routing import Routing
    from matchmaker.route.schemes import Scheme
    from matchmaker.route.standing import Standing
    from matchmaker.route.steps import Amount, Kept, Route, Step
    from matchmaker.route.stopping import Stopping

HEADER = (
    "scheme",
    "season",
    "cocks",
    "hens",
    "keep",
    "sex",
    "told_by",
    "told_at_days",
    "chance",
    "birds",
    "raise_95",
    "raise_99",
    "eggs_95",
    "eggs_99",
    "dna_tests",
    "test_chicks",
    "recurrent_share",
)


def route_document(answer: Routing, scheme: str = "any", stop: Sequence[Stopping] = ()) -> Document:
    """Everything of the screen; chances both as fractions and as numbers."""
    chosen = answer.schemes.named(scheme).best
    return {
        **_asked(answer),
        "scheme": scheme,
        "route": None if chosen is None else route_entry(answer, chosen),
        "schemes": [
            scheme_entry(answer, one)
            for one in (
                answer.schemes.all_routes,
                *(one for one in answer.schemes.schemes if one.name != "any"),
            )
        ],
        **_warnings(answer),
        "stopping": stopping_entries(stop),
        "lines": [standing_entry(answer, one) for one in answer.standings],
    }


def _asked(answer: Routing) -> Document:
    """The head of the document, and what was searched for."""
    posed, task = answer.posed, answer.task
    recurrent = answer.study.flock.settings.recurrent
    return {
        **document_head(
            "route", answer.study.flock.tables, (*answer.study.defaults, *posed.defaults)
        ),
        "target": {
            locus.symbol: copies
            for locus, copies in zip(task.genome.loci, task.wanted, strict=True)
        },
        "donor": posed.donor,
        "donor_sexes": [str(sex) for sex in posed.donor_sexes],
        "recurrent": recurrent,
        "backcrosses": posed.backcrosses,
        "share_wanted": float(task.share),
        "birds": task.birds,
        "set_to_raised": task.reared,
        "age_at_next_pens_days": task.age,
    }


def _warnings(answer: Routing) -> Document:
    """Signs that visible neighbours give, and plans that fail."""
    task, recurrent = answer.task, answer.study.flock.settings.recurrent
    return {
        "signs": [
            {
                "hidden": one.hidden,
                "neighbour": one.neighbour,
                "sex": str(one.sex),
                "carrying_after": [float(part) for part in one.after],
                "sentence": marker_sentence(one),
            }
            for one in answer.markers
        ],
        "pitfalls": [
            {
                "why": str(one.why),
                "locus": one.locus,
                "sex": one.sex and str(one.sex),
                "chance": float(one.chance),
                "sentence": pitfall_sentence(task, one, recurrent),
            }
            for one in answer.pitfalls
        ],
    }


def scheme_entry(answer: Routing, scheme: Scheme) -> Document:
    """The routes of a scheme, the quickest first."""
    return {
        "scheme": scheme.name,
        "gave_up": scheme.gave_up,
        "routes": [route_entry(answer, route) for route in scheme.routes],
    }


def route_entry(answer: Routing, route: Route) -> Document:
    """One route with its steps."""
    return {
        "seasons": route.seasons,
        "chicks": route.chicks,
        "test_chicks": route.test_chicks,
        "dna_tests": route.dna_tests,
        "steps": [_step(answer, step) for step in route.steps],
    }


def _step(answer: Routing, step: Step) -> Document:
    task = answer.task
    return {
        "season": step.season,
        "cocks": way_words(task, step.cock),
        "hens": way_words(task, step.hen),
        "sentence": chicks_sentence(task, step),
        "chicks": {str(sex): _copies(answer, step.chicks[sex]) for sex in Sex},
        "keep": [_kept(answer, kept) for kept in step.kept],
        "recurrent_share": float(step.share),
        "one": _amount(step.one),
        "working": _amount(step.working),
    }


def _copies(answer: Routing, mix: Mix) -> list[Document]:
    """Chicks of one sex by copies, each with its chance among them."""
    symbols = [locus.symbol for locus in answer.task.genome.loci]
    return [
        {
            "copies": dict(zip(symbols, copies, strict=True)),
            "fraction": str(chance),
            "chance": float(chance),
        }
        for copies, chance in by_copies(answer.task, mix)
    ]


def _kept(answer: Routing, kept: Kept) -> Document:
    cell, test = kept.cell, kept.cell.test
    return {
        "sex": str(kept.way.sex),
        "told_by": str(cell.telling),
        "told_at_days": cell.days,
        "chance_of_sex": float(cell.chance),
        "carrying": float(answer.task.carrying(cell.mix)),
        "seasons_to_wait": cell.delay,
        "dna_tests": kept.dna_tests,
        "birds_on_trial": kept.tested_birds,
        "test_chicks_each": cell.test_chicks,
        "clean_chicks": None if test is None else {str(one): test.chicks(one) for one in LEVELS},
        "donor_piece_cm": {symbol: round(length, 2) for symbol, length in kept.piece.items()},
        "sentence": " ".join(keep_sentences(answer.task, kept)),
    }


def _amount(amount: Amount) -> Document:
    return {
        "birds": amount.birds,
        "raise": {str(level): number for level, number in amount.rear.items()},
        "set": {str(level): number for level, number in amount.set_.items()},
    }


def standing_entry(answer: Routing, standing: Standing) -> Document:
    """Where one line stands."""
    return {
        "line": standing.line,
        "step": standing.step,
        "step_is_set": standing.stated,
        "next_step": standing.next_step,
        "disagrees": standing.disagrees,
        "backcrosses": standing.backcrosses,
        "recurrent_share": None if standing.share is None else float(standing.share),
        "recurrent_share_perhaps": (None if standing.perhaps is None else float(standing.perhaps)),
        "birds": {
            str(sex): {
                "carrying": count.carrying,
                "perhaps": count.perhaps,
                "free": count.free,
                "finished": count.finished,
            }
            for sex, count in standing.counts.items()
        },
        "route": standing.route and route_entry(answer, standing.route),
    }


def route_sheet(answer: Routing, scheme: str = "any") -> Sheet:
    """One class kept a row, of the route shown."""
    route = answer.schemes.named(scheme).best
    steps = route.steps if route is not None else ()
    return Sheet(
        header=HEADER,
        rows=tuple(_row(answer, scheme, step, kept) for step in steps for kept in step.kept),
    )


def _row(answer: Routing, scheme: str, step: Step, kept: Kept) -> tuple[Cell, ...]:
    task = answer.task
    return (
        scheme,
        step.season,
        way_words(task, step.cock),
        way_words(task, step.hen),
        " ".join(keep_sentences(task, kept)),
        str(kept.way.sex),
        str(kept.cell.telling),
        kept.cell.days,
        float(kept.cell.chance) / 2,
        step.working.birds,
        *(step.working.rear[level] for level in LEVELS),
        *(step.working.set_[level] for level in LEVELS),
        kept.dna_tests,
        kept.tested_birds * kept.cell.test_chicks,
        float(step.share),
    )
