"""Explanations as documents: the same facts as on the screen, and the same sentences."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

from matchmaker.report.alternatives import difference_sentences
from matchmaker.report.defaults import defaults_of
from matchmaker.report.documents import cost_entry, document_head, pair_entry, rule_entry
from matchmaker.report.ways import edit_entry
from matchmaker.report.why.bird_words import (
    bird_sentence,
    cock_sentence,
    empty_sentence,
    pen_sentence,
)
from matchmaker.report.why.choice_words import (
    choosing_sentences,
    lever_about,
    lever_text,
    using_sentences,
    wish_sentence,
)
from matchmaker.report.why.kin_words import joined, path_sentences
from matchmaker.report.why.pair_words import (
    banned_sentence,
    evidence,
    fixed_sentence,
    forced_sentences,
    tried_sentence,
    verdict_sentence,
)
from matchmaker.report.why.plan_words import fact_sentence
from matchmaker.report.why.terms import columns_beside

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.explain.bird import BirdAnswer
    from matchmaker.explain.choosing import Change
    from matchmaker.explain.forced import Forced
    from matchmaker.explain.pair import PairAnswer, Tried
    from matchmaker.explain.pen import PenAnswer, Stint
    from matchmaker.explain.whole import Fact
    from matchmaker.explain.wish_prices import WishPrice
    from matchmaker.explain.worth import Worth
    from matchmaker.genetics.kin.wright_paths import Path
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.report.documents import Document


def pair_document(answer: PairAnswer) -> Document:
    """The answer about a hen and a cock."""
    pair = answer.pair
    choosing = answer.choosing
    return {
        **_head(answer.table),
        "asked": "pair",
        **pair_entry(pair),
        "verdict": str(answer.verdict),
        "pen": answer.pen or None,
        "sentence": verdict_sentence(answer),
        "rules": [
            {**rule_entry(one), "evidence": list(evidence(answer, one))} for one in pair.broken
        ],
        "other_rows": [pair_entry(one) for one in answer.others],
        "paths": [_path_entry(path) for path in answer.kin.listed],
        "kinship_before_records": float(answer.kin.before),
        "kinship_other_paths": float(answer.kin.others),
        "kinship_sentences": list(path_sentences(joined(answer), len(answer.kin.listed))),
        "terms": [
            {"heading": one.heading, "who": one.words, **pair_entry(one.pair)}
            for one in columns_beside(answer)
        ],
        "if_forced": _forced_entry(answer, answer.if_forced),
        "if_banned": _forced_entry(answer, answer.if_banned),
        "would_take": [
            *(_tried_entry(one) for one in answer.tried),
            *(_change_entry(answer, one) for one in (choosing.changes if choosing else ())),
        ],
        "not_lifted": [
            {**rule_entry(one), "sentence": fixed_sentence(answer, one)}
            for one in (answer.remedies.fixed if answer.remedies else ())
        ],
        "tie": None if choosing is None else choosing.tie,
        "to_be_chosen": [] if choosing is None else list(choosing_sentences(answer, choosing)),
        "wishes": [_wish_entry(one) for one in answer.wishes],
    }


def _head(table: PairTable) -> Document:
    return document_head("why", table.study.flock.tables, defaults_of(table))


def _path_entry(path: Path) -> Document:
    return {
        "ancestor": path.ancestor,
        "hen": list(path.first),
        "cock": list(path.second),
        "kinship": float(path.kinship),
        "fraction": str(path.kinship),
        "chance": float(path.chance),
    }


def _forced_entry(answer: PairAnswer, forced: Forced | None) -> Document | None:
    """What the plan is with the pair, or without it."""
    if forced is None or answer.plan is None:
        return None
    sentences = (
        [banned_sentence(forced)]
        if forced is answer.if_banned
        else list(forced_sentences(answer, forced))
    )
    changes = difference_sentences(answer.plan, forced.pens) if forced.pens else ()
    return {
        "value": forced.value,
        "loss": forced.loss,
        "least_loss": forced.least_loss,
        "proved": forced.proved,
        "conflict": list(forced.conflict),
        "changes": list(changes),
        "pens": [
            {"pen": pen.pen, "turn": pen.turn, "cock": pen.cock, "hens": [p.hen for p in pen.pairs]}
            for pen in forced.pens
        ],
        "sentences": sentences,
    }


def _tried_entry(tried: Tried) -> Document:
    forced = tried.forced
    return {
        "to": "be-allowed",
        "edits": [edit_entry(edit) for edit in tried.remedy.edits],
        "gain": _worth_entry(tried.gain),
        "loss": forced.loss,
        "proved": forced.proved,
        "other_pairs": tried.others,
        "sentence": tried_sentence(tried),
    }


def _change_entry(answer: PairAnswer, change: Change) -> Document:
    lever = change.lever
    return {
        "to": "be-chosen",
        "what": str(lever.kind),
        "about": lever_about(change),
        "now": lever.now,
        "number": change.number,
        "sentence": f"It would be chosen if {lever_text(answer.table, change)}.",
    }


def _wish_entry(one: WishPrice) -> Document:
    wish = one.wish
    return {
        "row": wish.row,
        "bird": wish.bird,
        "with": wish.partner or None,
        "wish": wish.wish,
        "why": wish.why or None,
        "price": _worth_entry(one.price),
        "no_effect": [rule_entry(broken) for broken in one.idle],
        "sentence": wish_sentence(one),
    }


def bird_document(answer: BirdAnswer) -> Document:
    """The answer about one bird."""
    return {
        **_head(answer.table),
        "asked": "bird",
        "bird": answer.bird.band,
        "sentence": bird_sentence(answer),
        "rules": [rule_entry(one) for one in answer.broken],
        "placed": [
            {"pen": one.pen, "hen": one.pair.hen, "cock": one.pair.cock} for one in answer.placed
        ],
        "worth": _worth_entry(answer.worth),
        "places": [{**pair_entry(one.pair), **cost_entry(one.cost)} for one in answer.places],
        "rejected": [
            {"rule": str(one.rule), "mates": list(one.mates), "nearest": rule_entry(one.nearest)}
            for one in answer.refused
        ],
        "tie": None if answer.choosing is None else answer.choosing.tie,
        "to_be_used": []
        if answer.choosing is None
        else list(using_sentences(answer, answer.choosing)),
        "wishes": [_wish_entry(one) for one in answer.wishes],
    }


def _worth_entry(worth: Worth | None) -> Document | None:
    if worth is None:
        return None
    return {
        "amount": worth.amount,
        "at_least": worth.low if isfinite(worth.low) else None,
        "at_most": worth.high,
        "no_plan": worth.impossible,
        "proved": worth.proved,
    }


def pen_document(answer: PenAnswer) -> Document:
    """The answer about one pen."""
    return {
        **_head(answer.plan.table),
        "asked": "pen",
        "pen": answer.record.pen,
        "sentence": pen_sentence(answer),
        "empty": None if answer.stints else empty_sentence(answer),
        "stints": [_stint_entry(one) for one in answer.stints],
    }


def _stint_entry(stint: Stint) -> Document:
    return {
        "turn": stint.filled.turn,
        "cock": stint.filled.cock,
        "places": stint.places,
        "cock_worth": _worth_entry(stint.cock_worth),
        "sentence": cock_sentence(stint),
        "hens": [
            {
                "hen": one.pair.hen,
                "line": one.pair.line,
                "lost_without": one.if_banned.loss,
                "lost_at_least": one.if_banned.least_loss,
                "in_every_plan": list(one.if_banned.conflict),
                "proved": one.if_banned.proved,
            }
            for one in stint.kept
        ],
        "next": [{"hen": one.pair.hen, **cost_entry(one.cost)} for one in stint.next_hens],
    }


def plan_facts_document(plan: SeasonPlan, facts: Sequence[Fact]) -> Document:
    """The facts that shape a plan most."""
    return {
        **_head(plan.table),
        "asked": "plan",
        "value": plan.solution.value,
        "facts": [_fact_entry(one) for one in facts],
    }


def _fact_entry(fact: Fact) -> dict[str, Any]:
    return {
        "kind": str(fact.kind),
        "subject": fact.subject,
        "worth": fact.worth.amount,
        "at_least": fact.worth.low if isfinite(fact.worth.low) else None,
        "at_most": fact.worth.high,
        "no_plan": fact.worth.impossible,
        "proved": fact.worth.proved,
        "sentence": fact_sentence(fact),
    }
