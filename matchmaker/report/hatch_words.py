"""Sentences about a hatch: whose it is, how it fits, what lies behind it, what it teaches."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.genetics.genotypes.relatives import Kin
from matchmaker.hatch.explanations import KIND_PRIOR, Why
from matchmaker.hatch.told import NEW_ROW
from matchmaker.report.days import day_text, span_text
from matchmaker.report.numbers import chicks_text, percent
from matchmaker.report.wording import listed
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from matchmaker.hatch.exact import Fit
    from matchmaker.hatch.explanations import Explanation
    from matchmaker.hatch.fits import LocusFit
    from matchmaker.hatch.hatching import Hatch
    from matchmaker.hatch.learned import Learned
    from matchmaker.hatch.parents import Meeting, Parents

ALL: Final = 1 - 1e-6
"""From here on no hatch is likelier than the one counted."""

UNLIKELY: Final = 0.005
"""What the parents may be with less than this is not told."""

MOST_CASES: Final = 4
"""Birds of one kind of reason that are named."""

HINTS: Final = {
    Why.OTHER_SIRE: "look at the pens' fences and at who was let out, and write the chicks with "
    "both cocks (--sire)",
    Why.MISREAD: "look at these chicks again in a few weeks",
    Why.GENOTYPE: "test it, or look for the record of its own that must be wrong",
}


def set_sentence(hatch: Hatch) -> str:
    """Which set, and whether its row is new."""
    told, record = hatch.told, hatch.found.record
    of = f", hen {told.dam}" if told.dam else ""
    when = f", set on {day_text(hatch.found.set_on)}" if hatch.found.set_on else ""
    on = hatch.found.hatched_on
    hatched = f", hatched on {day_text(on)}" if on and (told.hatched or told.chicks) else ""
    old = record is not None and hatch.egg.row is not None and record.row < NEW_ROW
    row = f"row {record.row} of the eggs" if record is not None and old else "a new set"
    return f"Pen {told.pen}{of}{when}{hatched}: {row}"


def counted_and_banded(hatches: Iterable[Hatch]) -> Iterator[str]:
    """Loci at which banded chicks stand in a count: what one shows later would teach twice."""
    loci = {}
    for hatch in hatches:
        told, record = hatch.told, hatch.found.record
        hatched = told.hatched if told.hatched is not None else record and record.hatched
        for locus in told.loci if hatched else ():
            unseen = sum(locus not in chick.seen for chick in told.chicks)
            if unseen + sum(told.whole(locus).values()) > (hatched or 0):
                loci[locus] = unseen
    if any(loci.values()):
        yield (
            f"The count of {listed(locus for locus, n in loci.items() if n)} holds chicks that are "
            "banded now: before you write what one of them shows in seen.csv, take it off the "
            "count there, or it teaches twice."
        )


def parents_sentences(parents: Parents) -> Iterator[str]:
    """Whose chicks they are, and why."""
    days = span_text(parents.first, parents.last)
    assumed = " (nobody wrote when; taken as the week before they were set)"
    yield f"Eggs collected {days}{assumed if parents.assumed else ''}."
    if parents.from_plan and not (parents.said and parents.dam):
        yield "Who stood in the pen is taken from the written plan: moves.csv has nobody there."
    yield _sire_sentence(parents)
    if parents.dam:
        yield f"Dam: {parents.dam}."
    else:
        bands = ", ".join(band for band, _ in parents.dams)
        alike = len({weight for _, weight in parents.dams}) == 1
        by = "as likely each" if alike else "each by the days she was there"
        yield f"Dam: one of {bands} ({by})."
        if parents.told_apart:
            yield "Eggs of this pen are told apart: name the hen of each chick with --dam."


def _sire_sentence(parents: Parents) -> str:
    bands = listed((band for band, _ in parents.sires), "or")
    if parents.said:
        by_clock = sorted({met.cock for met in parents.meetings})
        told = {band for band, _ in parents.sires}
        if by_clock and set(by_clock) != told:
            return f"Sire: {bands}, as you say; by the tables {listed(by_clock, 'or')}."
        return f"Sire: {bands}, as you say."
    if parents.sire:
        return f"Sire: {bands}, for sure by who was with the hens and when."
    why = listed(_meeting_text(met, parents) for met in parents.meetings)
    return f"Sire: {bands}; which of them nobody can know: {why}."


def _meeting_text(met: Meeting, parents: Parents) -> str:
    if met.last is None:
        return f"{met.hen} was with {met.cock} on these days"
    before = (parents.first - met.last).days
    return f"{met.hen} was with {met.cock} until {day_text(met.last)}" + (
        f", {before} days before the first egg" if before > 0 else ""
    )


def one_in(chance: float) -> str:
    """A chance as a keeper says it.

    Examples
    --------
    >>> one_in(0.31), one_in(1 / 16384), one_in(0.0), one_in(1.0)
    ('31 %', '1 in 16,384', 'never', '100 %')
    """
    if chance == 0:
        return "never"
    if chance < 0.01:
        return f"1 in {round(1 / chance):,}" if chance > 1e-9 else "less than 1 in 1,000,000,000"
    return percent(chance)


def fit_verdict(found: LocusFit) -> str:
    """Whether the hatch is as expected."""
    fit = found.fit
    if fit is None:
        return "The words counted overlap, so the hatch cannot be set against what was expected."
    if fit.impossible:
        return f"{_impossible(found)}: by the tables these parents cannot have such a chick."
    if fit.p > ALL:
        return "Just as expected: no hatch is less odd."
    if not found.poor:
        return f"Within chance: of such hatches {one_in(fit.p)} are as odd or odder{_how(fit)}."
    return (
        f"Odd: of such hatches only {one_in(fit.p)} are as odd or odder{_how(fit)}; this very one "
        f"comes in {one_in(fit.chance)}."
    )


def _how(fit: Fit) -> str:
    return f" (± {percent(fit.error, 2)}, {fit.draws:,} hatches drawn)" if fit.draws else ""


def _impossible(found: LocusFit) -> str:
    classes, expected = found.classes, found.expected
    assert classes is not None  # noqa: S101  a fit has classes
    assert expected is not None  # noqa: S101
    never = [
        f"{count} {name}"
        for name, count, chance in zip(classes.names, classes.counts, expected.mean, strict=True)
        if count and chance == 0
    ]
    return listed(never) if never else "All of them together"


def class_rows(found: LocusFit) -> list[list[str]]:
    """Each class with the chicks counted and expected, and the chance of one chick.

    Classes that can have no chick and have none are left out. Where the sexes are told apart, the
    chance is that of one chick of its sex.
    """
    classes, expected = found.classes, found.expected
    if classes is None or expected is None:
        return []
    half = len(classes.names) // 2
    groups = (slice(0, half), slice(half, None)) if classes.sexed else (slice(None),)
    rows = []
    for group in groups:
        names, counts, mean = classes.names[group], classes.counts[group], expected.mean[group]
        total, whole = sum(counts), sum(mean)
        rows += [
            [name, str(count), chicks_text(total * chance / whole), percent(chance / whole, 1)]
            for name, count, chance in zip(names, counts, mean, strict=True)
            if total and (count or chance)
        ]
    return rows


def unsure_sentence(found: LocusFit) -> Iterator[str]:
    """What a chick's chances hang on, where it is not sure what the parents are."""
    classes, expected = found.classes, found.expected
    if classes is None or expected is None or len(expected.weights) < 2:
        return
    possible = expected.chances[expected.weights > UNLIKELY]
    low, high = possible.min(axis=0), possible.max(axis=0)
    at = max(range(len(classes.names)), key=lambda at: float(high[at] - low[at]))
    if high[at] > low[at]:
        look, _, sex = classes.names[at].rpartition(" ") if classes.sexed else ("", "", "")
        times = 2 if classes.sexed else 1  # half of all chicks are of a sex
        yield (
            "The parents' genes are not sure, and the same for all these chicks: by what they are "
            f"a {sex or 'chick'} is {look or classes.names[at]} with "
            f"{percent(times * float(low[at]))} to {percent(times * float(high[at]))}."
        )


def explanation_sentences(found: LocusFit) -> Iterator[str]:
    """What may lie behind, the likeliest kind first, and what to do about that one."""
    kinds: dict[Why, list[Explanation]] = {}
    for one in found.explanations:
        kinds.setdefault(one.why, []).append(one)
    ranked = sorted(kinds.items(), key=lambda item: -sum(one.odds for one in item[1]))
    for why, cases in ranked:
        yield f"{percent(sum(one.odds for one in cases))}: {_KINDS[why](cases)}"
    if ranked:
        hint = HINTS.get(ranked[0][0])
        if hint:
            yield f"If the first: {hint}."
        yield (
            f"Odds among these reasons alone; beforehand each kind of error was given "
            f"{100 * KIND_PRIOR:.0f} hatches in a hundred (a rule of thumb, without a source)."
        )


def _other_sire(cases: list[Explanation]) -> str:
    return f"another cock is the sire of some or all: {_likeliest(cases)}"


def _other_genotype(cases: list[Explanation]) -> str:
    return f"a parent is not what the tables make it: {_likeliest(cases)}"


def _likeliest(cases: list[Explanation]) -> str:
    named = [
        f"{one.bird}{f' as {one.genotype}' if one.genotype else ''} {percent(one.odds)}"
        for one in cases[:MOST_CASES]
    ]
    more = f" and {len(cases) - MOST_CASES} more" if len(cases) > MOST_CASES else ""
    return ", ".join(named) + more


_KINDS: Final[Mapping[Why, Callable[[list[Explanation]], str]]] = {
    Why.CHANCE: lambda _: "chance; the tables are right",
    Why.MISREAD: lambda _: "some chicks were misread (1 in 20 taken)",
    Why.OTHER_SIRE: _other_sire,
    Why.GENOTYPE: _other_genotype,
}


def copies_chances(chances: Iterable[float]) -> str:
    """Chances of no, one and two copies, those that are nought left out.

    Examples
    --------
    >>> copies_chances((0.5, 0.5, 0.0)), copies_chances((0.0, 0.0, 1.0))
    ('0: 50 %, 1: 50 %', '2: sure')
    """
    own = [(copies, p) for copies, p in enumerate(chances) if p > 1e-9]
    if len(own) == 1:
        return f"{own[0][0]}: sure"
    return ", ".join(f"{copies}: {percent(p)}" for copies, p in own)


def learned_reason(one: Learned) -> str:
    """Whose records moved the chances, and what is settled."""
    it, its = _PRONOUNS[one.sex]
    settled = f"{it} is {one.settled}" if one.settled else ""
    if one.reason is None:
        return settled
    at = "" if one.reason.locus == one.locus else f" at {one.reason.locus}"
    whose = "chicks that may be {its} own" if one.reason.perhaps else _WHOSE[one.reason.kin]
    told = f"{whose.format(its=its)}{at}: {', '.join(one.reason.words)}"
    return f"{settled}; {told}" if settled else told


_PRONOUNS: Final = {Sex.COCK: ("he", "his"), Sex.HEN: ("she", "her"), None: ("it", "its")}

_WHOSE: Final = {
    Kin.OWN: "{its} own record",
    Kin.PARENT: "{its} parents",
    Kin.ANCESTOR: "{its} forebears",
    Kin.CHICK: "{its} chicks",
    Kin.MATE: "{its} mates",
    Kin.SIB: "chicks of {its} parents",
    Kin.DESCENDANT: "{its} grand-chicks",
    Kin.OTHER: "chicks of {its} kin",
}
