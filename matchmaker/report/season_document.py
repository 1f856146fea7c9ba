"""The JSON document and the rows of ``season``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.rebalance.clock import days
from matchmaker.rebalance.eggs import HATCH_DAYS
from matchmaker.report.defaults import defaults_of
from matchmaker.report.documents import document_head
from matchmaker.report.season_dates import due_reason, due_words
from matchmaker.report.season_rates import rate_remarks
from matchmaker.report.season_words import (
    class_sentences,
    late_sentences,
    line_sentences,
    pair_sentences,
    safe_sentence,
    source_sentence,
    surplus_sentence,
)
from matchmaker.report.sheets import Sheet
from matchmaker.season.dates import CANDLE_DAYS, MOVE_DAYS
from matchmaker.season.surplus import surpluses

if TYPE_CHECKING:
    from matchmaker.report.documents import Document
    from matchmaker.season.brood import Brood
    from matchmaker.season.dates import Due
    from matchmaker.season.guide import SeasonGuide
    from matchmaker.season.rates import Rate
    from matchmaker.season.safe import Safe
    from matchmaker.season.setting import Reached

HEADER = (
    "set",
    "laid_from",
    "laid_to",
    "set_on",
    "pen",
    "hen",
    "cock",
    "line",
    "tests",
    "eggs",
    "candle_on",
    "move_on",
    "hatch_on",
    "hatched_expected",
    "raised_expected",
    "wanted_expected",
)


def season_document(guide: SeasonGuide) -> Document:
    """Dates, eggs to set, chicks to expect and rates, with the sentences of the screen."""
    return {
        **document_head("season", guide.table.study.flock.tables, defaults_of(guide.table)),
        "season": guide.table.study.flock.settings.season,
        "certainty": guide.certainty,
        "pens_from": str(guide.pens.source),
        "plan_proved": guide.pens.proved,
        "pens_sentence": source_sentence(guide),
        "dates": [_due(guide, one) for one in guide.dates],
        "safe_eggs": [_safe(guide, one) for one in guide.safe],
        "lines": [_line(one) for one in guide.lines],
        "line_sentences": list(line_sentences(guide)),
        "sets": [
            {
                "set": one.number,
                "set_on": str(one.set_on),
                "laid_from": one.first and str(one.first),
                "laid_to": one.last and str(one.last),
                "already_set": one.done,
                "eggs": one.total,
                "eggs_by_pen": {pen: one.eggs[pen] for pen in one.pens},
            }
            for one in guide.sets
        ],
        "eggs_to_set": egg_entries(guide),
        "incubator_per_week": guide.room.incubator,
        "rearing_room": guide.room.rearing,
        "chicks": [_brood(one) for one in guide.broods],
        "cockerels": [
            {
                "line": one.line or None,
                "hatched": one.hatched,
                "unwanted_hatched": one.unwanted,
                "wanted_raised": one.wanted,
                "needed": one.needed,
                "surplus_of_wanted": one.later,
            }
            for one in surpluses(guide.broods)
        ],
        "cockerels_sentence": surplus_sentence(guide),
        "remarks": [*late_sentences(guide), *pair_sentences(guide)],
        "class_sentences": list(class_sentences(guide)),
        **_rates(guide),
    }


def _rates(guide: SeasonGuide) -> Document:
    return {
        "rates": {one.key: _rate(one) for one in guide.rates.all},
        "fertility_of_cocks": {cock: _rate(one) for cock, one in guide.rates.cocks.items()},
        "most_eggs_a_hen_and_week": guide.rates.most_laid and guide.rates.most_laid[0],
        "rows_with_too_many_eggs": list(guide.rates.too_many),
        "rows_without_a_sure_cock": list(guide.doubtful),
        "rate_remarks": list(rate_remarks(guide)),
    }


def _due(guide: SeasonGuide, due: Due) -> Document:
    return {
        "day": str(due.day),
        "last_day": str(due.last),
        "task": str(due.task),
        "key": due.key,
        "pens": list(due.pens),
        "what": due_words(due, guide.table),
        "why": due_reason(due, guide.table) or None,
    }


def _safe(guide: SeasonGuide, one: Safe) -> Document:
    return {
        "pen": one.pen,
        "cock": one.cock,
        "hens": list(one.hens),
        "eggs_credited_from": one.since and str(one.since),
        "waits_for": [
            {"hen": hen, "cock": cock, "last_day": str(day)} for hen, cock, day in one.waits_for
        ],
        "sentence": safe_sentence(one, guide) or None,
    }


def _line(one: Reached) -> Document:
    return {
        "line": one.goal.line or None,
        "tests": one.goal.tested or None,
        "chicks_wanted": one.goal.mean,
        "eggs_to_set": one.eggs,
        "eggs_set": one.done,
        "eggs_for_mean": one.for_mean,
        "eggs_if_rates_were_sure": one.if_sure,
        "eggs_of_likeliest": one.fewest,
        "eggs_missing": one.more,
        "held_by": one.blocked or None,
        "enough": one.enough,
        "chance_of_all_eggs": one.ceiling,
        "chance_by_unproven_parents": list(one.ways),
        "unproven_parents": sorted({bird for bird, _ in one.goal.doubts.birds}),
        "wanted_expected": one.expected,
        "asked": [
            {
                "count": ask.count,
                "sex": ask.sex and str(ask.sex),
                "certainty": ask.certainty,
                "chance": chance,
            }
            for ask, chance in zip(one.goal.asks, one.chances, strict=True)
        ],
    }


def egg_entries(guide: SeasonGuide) -> list[Document]:
    """The eggs to set from now on: one row a set and hen, or pen where eggs are not told apart."""
    names = {one.set_on: one.number for one in guide.sets if not one.done}
    rates = guide.rates
    shell = rates.fertility.value * rates.hatch_of_fertile.value
    return [
        {
            "set": names[lot.week.set_on],
            "laid_from": str(lot.week.first),
            "laid_to": str(lot.week.last),
            "set_on": str(lot.week.set_on),
            "pen": lot.pen,
            "hen": lot.hen or None,
            "cock": lot.cock,
            "line": lot.line or None,
            "tests": lot.tested or None,
            "eggs": count,
            "candle_on": str(lot.week.set_on + days(CANDLE_DAYS)),
            "move_on": str(lot.week.set_on + days(MOVE_DAYS)),
            "hatch_on": str(lot.week.set_on + days(HATCH_DAYS)),
            "hatched_expected": round(count * lot.lives * shell, 6),
            "raised_expected": round(count * lot.lives * rates.raised, 6),
            "wanted_expected": round(count * lot.wanted * rates.raised, 6),
        }
        for lot, count in guide.rows
    ]


def eggs_sheet(guide: SeasonGuide) -> Sheet:
    """The same as rows of a table."""
    rows = tuple(tuple(entry[name] for name in HEADER) for entry in egg_entries(guide))
    return Sheet(header=HEADER, rows=rows)


def _brood(one: Brood) -> Document:
    return {
        "pen": one.pen,
        "cock": one.cock,
        "line": one.line or None,
        "tests": one.tested or None,
        "eggs": one.eggs,
        "hatched": one.hatched,
        "hatched_cockerels": one.hatched / 2,
        "hatched_pullets": one.hatched / 2,
        "raised": one.raised,
        "wanted": {str(sex): number for sex, number in one.wanted.items()},
        "unwanted": {str(sex): one.unwanted(sex) for sex in one.wanted},
        "surplus_cockerels_hatched": one.surplus_cockerels,
        "classes": [
            {"locus": locus, "sex": str(sex), "copies": copies, "raised": number}
            for (locus, sex, copies), number in sorted(one.classes.items())
        ],
    }


def _rate(one: Rate) -> Document:
    return {
        "value": one.value,
        "low": one.low,
        "high": one.high,
        "taken": one.taken,
        "taken_from_settings": one.given,
        "sets": one.sets,
        "tries": one.tries,
        "successes": one.hits,
        "sets_left_out": one.left_out,
        "differs": one.differs,
        "words": one.words,
    }
