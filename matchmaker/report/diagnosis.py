"""What is shown where there is no plan: the numbers in the way, and ways out that were tried."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from matchmaker.pairs.rules import Rule, nearest_cause
from matchmaker.plan.no_plan.repair import Act
from matchmaker.plan.no_plan.repair_edits import SURE
from matchmaker.plan.searching.conflict import requirements
from matchmaker.report.numbers import kinship_text, percent
from matchmaker.report.screen import say
from matchmaker.report.ways import (
    edit_entry,
    trial_sentence,
    way_rows,
    way_sentence,
)
from matchmaker.report.wording import PAIR_STATES, counted, reasons

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from rich.console import Console

    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.no_plan.circumstances import Circumstances, Rejected, RowNumbers
    from matchmaker.plan.no_plan.diagnosis import Diagnosis, WayOut
    from matchmaker.plan.no_plan.repair import Edit
    from matchmaker.plan.searching.conflict import Requirement

NOTHING_HELPS = (
    "No rule that may be loosened gives a plan. Birds that are gone, at rest, too young or unfit, "
    "lethal genotypes and kinship above that of full sibs are not touched. Bring in birds, or wait "
    "until the young ones are old enough."
)

CAUTIONS: Mapping[str, str] = {
    "kinship": (
        "Close inbreeding costs hatch and vigour: a higher kinship limit is a way out for one "
        "season, not for good."
    ),
    "hens": (
        "More hens to a cock give fewer fertile eggs: watch his condition, and test the eggs after "
        "a week."
    ),
    "room": (
        "Birds that are crowded fall ill and peck each other: keep to the space that your local "
        "rules ask for, and ask a veterinarian when birds are ill."
    ),
    "allow": ("A pair that a wish allows goes past the rules that rejected it: mind why they did."),
    "proof": "A bird less surely proven may give no wanted chick at all.",
}

_FIGURES: Mapping[Rule, Callable[[float], str]] = {
    Rule.TOO_RELATED: kinship_text,
    Rule.NO_WANTED_CHICKS: lambda chance: percent(chance, 1),
}

_CAUTION_OF: Mapping[str, str] = {
    "kinship_max": "kinship",
    "mean_inbreeding_max": "kinship",
    "group_kinship_max": "kinship",
    "pens_per_cock": "hens",
    "rearing_room": "room",
    "proof_min": "proof",
}


def print_diagnosis(console: Console, table: PairTable, diagnosis: Diagnosis) -> None:
    """Why there is no plan, and the ways out."""
    several = len(diagnosis.conflict) > 1
    say(
        console,
        "No plan satisfies all of these at once:" if several else "No plan is possible:",
        style="bold",
    )
    for sentence in clash_sentences(table, diagnosis, diagnosis.conflict):
        say(console, sentence, indent=2)
    for further in diagnosis.further:
        say(
            console, "Apart from that these clash:" if len(further) > 1 else "Nor is this possible:"
        )
        for sentence in clash_sentences(table, diagnosis, further):
            say(console, sentence, indent=2)
    console.print()
    say(console, "What stands in the way", style="bold")
    for sentence in fact_sentences(diagnosis.circumstances):
        say(console, sentence, indent=2)
    console.print()
    if not diagnosis.ways:
        say(console, NOTHING_HELPS)
        return
    say(console, "Ways out, each tried: with it there is a plan", style="bold")
    for number, way in enumerate(diagnosis.ways, start=1):
        _print_way(console, number, way)
    for caution in cautions_of(diagnosis):
        say(console, caution)


def clash_sentences(
    table: PairTable, diagnosis: Diagnosis, names: Sequence[str]
) -> tuple[str, ...]:
    """What clashes: wishes with what stands against them, numbers that must be sure as written."""
    sure = {one.name: one for one in requirements(diagnosis.problem) if one.field in SURE}
    return tuple(
        _sure_sentence(table, sure[name]) if name in sure else sentence
        for name, sentence in zip(names, _wish_sentences(table, names), strict=True)
    )


def _wish_sentences(table: PairTable, conflict: Iterable[str]) -> tuple[str, ...]:
    """What clashes, each wish with why it cannot be met and what would help."""
    together = {name: pair for pair, name in table.wishes.together.items()}
    use = {name: bird for bird, name in table.wishes.use.items()}
    return tuple(
        _refused_pair(table, name, *together[name])
        if name in together
        else _refused_bird(table, name, use[name])
        if name in use
        else name
        for name in conflict
    )


def _refused_pair(table: PairTable, name: str, hen: str, cock: str) -> str:
    entries = table.by_birds.get((hen, cock), ())
    if not entries or any(pair.allowed for pair in entries):
        return name
    why = reasons(nearest_cause(entries[0].broken))
    final = any(broken.final for broken in entries[0].broken)
    way = "delete the wish" if final else f"delete the wish, or add a row {hen},{cock},allow"
    return f"{name}: {why} → {way}"


def _refused_bird(table: PairTable, name: str, bird: str) -> str:
    own = [pair for pair in table.pairs if bird in (pair.hen, pair.cock)]
    if any(pair.allowed for pair in own):
        return name
    broken = table.of_birds.get(bird, ()) or (own[0].broken if own else ())
    return f"{name}: no mate is allowed for it ({reasons(nearest_cause(broken)) or 'none is left'})"


def _sure_sentence(table: PairTable, one: Requirement) -> str:
    own = table.study.flock.settings.line(one.line)
    number = getattr(own, SURE[one.field])
    what = "son" if one.field == "sure_cocks_min" else "daughter"
    return (
        f"line {one.line}: at least {counted(round(number), f'wanted {what}')} with a chance of "
        f"{percent(own.certainty or 0.0)}"
    )


def _print_way(console: Console, number: int, way: WayOut) -> None:
    say(console, f"{number}. {way_sentence(way)}", indent=2)
    rows = way_rows(way)
    for line in rows.splitlines():
        console.print(f"       {line}" if line else "", crop=False, no_wrap=True)
    say(console, trial_sentence(way), indent=5)


def cautions_of(diagnosis: Diagnosis) -> tuple[str, ...]:
    """What to mind with the ways offered, each caution once."""
    found = [_caution(edit) for way in diagnosis.ways for edit in way.edits]
    return tuple(CAUTIONS[name] for name in dict.fromkeys(found) if name)


def _caution(edit: Edit) -> str:
    if edit.act is Act.ADD and edit.table == "wishes":
        return "allow"
    if edit.column == "hens_max":
        return "hens" if edit.table == "birds" else "room"
    return _CAUTION_OF.get(edit.key[-1], "") if edit.key else ""


def fact_sentences(found: Circumstances) -> tuple[str, ...]:
    """The numbers around a clash, a sentence a row of crossings, then the pens."""
    named = [
        f"pen {pen}: {f'{least} to ' if least > 1 else ''}{counted(most, 'hen')}"
        for pen, most, least in found.named
    ]
    is_open = "is open" if found.pens == 1 else "are open"
    pens = f"{counted(found.pens, 'pen')} {is_open}, with {counted(found.places, 'place')}"
    if found.idle:
        pens += f" ({found.idle} of them kept for matings that are not open)"
    birds = f"{counted(found.cocks, 'cock')} and {counted(found.hens, 'hen')} have an allowed pair"
    unrowed = (
        [f"{counted(found.unrowed, 'pair')} of lines between which no row is open this season"]
        if found.unrowed
        else []
    )
    return (*map(row_sentence, found.rows), *unrowed, *named, f"{pens}; {birds}")


def row_sentence(row: RowNumbers) -> str:
    """Who could be paired in a row, how many pairs are allowed, and what rejects the others."""
    birds = (
        f"{counted(len(row.cocks), 'cock')}{_named(row.cocks)} and "
        f"{counted(len(row.hens), 'hen')}{_named(row.hens)} could breed"
    )
    parts = [birds, f"{row.allowed} of {counted(row.pairs, 'pair')} allowed"]
    parts += [_rejected(one, row) for one in row.rejected]
    parts += [_away(rule, number) for rule, number in row.away]
    return f"{row.row} (for line {row.line}): {'; '.join(parts)}"


def _named(birds: tuple[str, ...]) -> str:
    return f" ({' and '.join(birds)})" if 0 < len(birds) <= 2 else ""


def _away(rule: Rule, number: int) -> str:
    return f"{counted(number, 'bird')} {PAIR_STATES[rule]}"


def _rejected(one: Rejected, row: RowNumbers) -> str:
    span = _span(one)
    if one.rule is Rule.TOO_RELATED and len(row.cocks) == 1:
        whom = f"{one.pairs} of {counted(len(row.hens), 'hen')}"
        return f"its one cock {row.cocks[0]} is too closely related to {whom} ({span})"
    return f"{one.pairs} {PAIR_STATES[one.rule]}" + (f" ({span})" if span else "")


def _span(one: Rejected) -> str:
    """From the least to the most that was measured, and the limit; "" where nothing was."""
    if one.low is None or one.high is None or one.limit is None:
        return ""
    if one.rule is Rule.NO_WANTED_CHICKS and one.high == 0:
        return ""
    text = _FIGURES.get(one.rule, percent)
    low, high = text(one.low), text(one.high)
    return f"{low if low == high else f'{low} to {high}'}, limit {text(one.limit)}"


def conflict_entry(table: PairTable, diagnosis: Diagnosis) -> dict[str, Any]:
    """The diagnosis as the document has it: what clashes, the numbers, the ways out."""
    return {
        "rows": list(clash_sentences(table, diagnosis, diagnosis.conflict)),
        "further": [list(clash_sentences(table, diagnosis, one)) for one in diagnosis.further],
        "facts": [_row_entry(row) for row in diagnosis.circumstances.rows],
        "sentences": list(fact_sentences(diagnosis.circumstances)),
        "pens": diagnosis.circumstances.pens,
        "places": diagnosis.circumstances.places,
        "relax": [_way_entry(way) for way in diagnosis.ways],
        "cautions": list(cautions_of(diagnosis)),
    }


def _row_entry(row: RowNumbers) -> dict[str, Any]:
    return {
        "row": row.row,
        "line": row.line,
        "hens": list(row.hens),
        "cocks": list(row.cocks),
        "pairs": row.pairs,
        "allowed": row.allowed,
        "rejected": [
            {
                "rule": str(one.rule),
                "pairs": one.pairs,
                "low": one.low,
                "high": one.high,
                "limit": one.limit,
            }
            for one in row.rejected
        ],
        "birds_rejected": {str(rule): number for rule, number in row.away},
        "sentence": row_sentence(row),
    }


def _way_entry(way: WayOut) -> dict[str, Any]:
    return {
        "rules": [edit_entry(edit) for edit in way.edits],
        "value": way.trial.value,
        "proved": way.trial.proved,
        "pairs": way.trial.pairs,
        "sentence": way_sentence(way),
    }
