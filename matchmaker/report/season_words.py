"""Sentences of a season: which pens, how sure the lines are, what the flock's own rates say."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.pairs.certainty import PROVEN
from matchmaker.report.days import day_text
from matchmaker.report.numbers import chicks_text, percent
from matchmaker.report.season_dates import locus_name
from matchmaker.report.wording import listed, reasons
from matchmaker.season.dates import late_limits
from matchmaker.season.setting import MOST_MORE
from matchmaker.season.standing import Source
from matchmaker.season.surplus import surpluses
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.season.brood import Brood
    from matchmaker.season.guide import SeasonGuide
    from matchmaker.season.safe import Safe
    from matchmaker.season.setting import Reached


SURPLUS: Final = (
    "Each hatch gives about as many cockerels as pullets. Know before the eggs are set where those "
    "go that nobody wants: house, sell and kill birds only as your local rules allow, and ask a "
    "veterinarian when birds are ill."
)

EXPECTED: Final = (
    "Numbers of chicks are what is expected; a season can turn out better or worse. The chance is "
    "counted egg by egg, with what is not known of the rates and of unproven parents (each taken "
    "by itself)."
)


def source_sentence(guide: SeasonGuide) -> str:
    """Which pens the season is worked out for."""
    if guide.pens.source is Source.MOVES:
        return "For the pens as moves.csv tells them."
    if guide.pens.source is Source.PLAN:
        return "For the written plan, plan.csv."
    best = "best plan" if guide.pens.proved else "best plan found (not proved: the search ended)"
    if not guide.pens.not_the_plan:
        return f"For the {best}: none is written yet (matchmaker plan --write)."
    return (
        f"For the {best}. The one in plan.csv does not stand: {guide.pens.not_the_plan}. "
        "To write the new one: matchmaker plan --write."
    )


def goal_name(reached: Reached) -> str:
    """A line, or the test of a bird."""
    return reached.goal.line or f"test of {reached.goal.tested}"


def line_sentences(guide: SeasonGuide) -> Iterator[str]:
    """What must be known of each line: what is a mean, what is out of reach and by how much."""
    assumed = [line for line, needs in sorted(guide.table.needs.items()) if needs.assumed]
    named = [one.goal.line for one in guide.lines if one.goal.line in assumed]
    yield (
        "To the plan chicks_wanted is an expected number, which is missed in about one season of "
        "two. Here each line is given the eggs that reach it with a chance of "
        f"{percent(guide.certainty, _digits(guide.certainty))}, where that can be."
        + (f" Nobody set it for {listed(named)}: 2.5 for each breeder are taken." if named else "")
    )
    for one in guide.lines:
        if not one.enough:
            yield short_sentence(one, guide)
        yield from _by_sex(one)
        yield from _on_one_hen(one, guide)
        if one.goal.doubts.drawn:
            yield _drawn_sentence(one)


def _drawn_sentence(reached: Reached) -> str:
    """How far off a chance may be where not every way that parents may be is gone through.

    Twice its standard error at most: a way's own chance varies no more than a yes or no.
    """
    draws, chance = len(reached.goal.doubts.weights), reached.chances[0]
    off = 2 * (chance * (1 - chance) / draws) ** 0.5
    return (
        f"{goal_name(reached)}: what its unproven parents may be is drawn {draws} times, so its "
        f"chance may be off by {percent(off)} either way."
    )


def _digits(chance: float) -> int:
    return 0 if abs(100 * chance - round(100 * chance)) < 1e-9 else 1


def short_sentence(reached: Reached, guide: SeasonGuide) -> str:
    """A line that falls short: what it reaches, by what it is held, how much is missing."""
    ask = reached.goal.main
    chance = percent(reached.chances[0])
    eggs = reached.eggs + reached.done
    if not eggs:
        return f"{goal_name(reached)} gets no chicks: {_no_eggs(reached, guide)}"
    if reached.ceiling is not None:
        return doubt_sentence(reached, guide)
    missing = (
        "no number of eggs of these pairs is enough"
        if reached.more is None
        else f"{_at_least(reached.more)} more eggs like its best ones would do"
    )
    return (
        f"{goal_name(reached)} falls short: {eggs} eggs give {ask.count} wanted chicks with a "
        f"chance of {chance} ({chicks_text(reached.expected)} are expected). "
        f"For {percent(ask.certainty, _digits(ask.certainty))} {missing}. "
        f"{_held(reached, guide)}{_doubt_too(reached, guide)}"
    )


def _at_least(eggs: int) -> str:
    return f"{MOST_MORE} or" if eggs >= MOST_MORE else f"about {eggs}"


def _doubt_too(reached: Reached, guide: SeasonGuide) -> str:
    """That parents are not proven, where eggs are short as well."""
    unproven = _unproven(reached, guide)
    return f" Not proven among the parents: {listed(unproven)}." if unproven else ""


def _no_eggs(reached: Reached, guide: SeasonGuide) -> str:
    """Why not one egg is set, and where to look."""
    if reached.blocked in {"incubator", "rearing"}:
        return f"no eggs can be set for it. {_held(reached, guide)}"
    settings = guide.table.study.flock.settings
    if guide.rates.raised <= 0 or guide.rates.lay.value <= 0:
        return "by your rates no chick is raised. Look at lay, fertility, hatch and rearing."
    first, last = day_text(settings.collect_from), day_text(settings.collect_until)
    return (
        f"from {first} to {last}, while eggs are kept, no pen has eggs for it that are surely of "
        "one cock and may give a wanted chick. Look at its pens, its rows of matings and the dates."
    )


def doubt_sentence(reached: Reached, guide: SeasonGuide) -> str:
    """A line whose chance is held down by parents that are not proven."""
    ask, eggs = reached.goal.main, reached.eggs + reached.done
    low, high = (percent(one) for one in reached.ways)
    return (
        f"{goal_name(reached)}: {eggs} eggs give {ask.count} wanted chicks with a chance of "
        f"{percent(reached.chances[0])}, and all that these hens lay with no more than "
        f"{percent(reached.ceiling or 0.0)}, because parents are not proven: "
        f"{listed(_unproven(reached, guide))}. Depending on what they prove to be it is "
        f"{low} to {high}. Prove them first (matchmaker tests), or rely on proven birds."
    )


def _unproven(reached: Reached, guide: SeasonGuide) -> list[str]:
    """Each unproven parent with what it carries how likely, the least sure first."""
    genotypes = guide.table.study.genotypes
    found = {
        (bird, locus): genotypes[locus].carrier_probability(bird)
        for bird, loci in reached.goal.doubts.birds
        for locus in loci
        if genotypes[locus].of(bird).max() < PROVEN
    }
    ordered = sorted(found, key=lambda one: (abs(found[one] - 0.5), one))
    return [
        f"{bird} (carries {locus} with {percent(found[bird, locus])})" for bird, locus in ordered
    ]


def _held(reached: Reached, guide: SeasonGuide) -> str:
    """What stands in the way of more eggs, and what would make room."""
    if reached.blocked == "incubator":
        return (
            f"The incubator takes {guide.room.incubator} eggs a week: a second one, or more weeks, "
            "make room."
        )
    if reached.blocked == "rearing" and guide.room.rearing is not None:
        return (
            f"The rearing room holds {guide.room.rearing:g} chicks, wanted or not: if unwanted "
            "ones leave at a day old, set a higher rearing_room under [year]."
        )
    return "Its hens lay no more in these weeks: give it more hens, or collect for longer."


def _by_sex(reached: Reached) -> Iterator[str]:
    for ask, chance in zip(reached.goal.asks[1:], reached.chances[1:], strict=True):
        kind = "cockerels" if ask.sex is Sex.COCK else "pullets"
        yield (
            f"{goal_name(reached)}: {ask.count} or more wanted {kind} with a chance of "
            f"{percent(chance, 1)} (asked for: {percent(ask.certainty, 1)})."
        )


def _on_one_hen(reached: Reached, guide: SeasonGuide) -> Iterator[str]:
    """A line of which more than half hangs on one hen."""
    wanted: dict[str, float] = defaultdict(float)
    for lot, count in guide.rows:
        if lot.line == reached.goal.line and not lot.tested and len(lot.hens) == 1:
            wanted[lot.hens[0]] += count * lot.wanted * guide.rates.raised
    most = max(wanted, key=lambda hen: wanted[hen], default="")
    if most and wanted[most] > reached.expected / 2:
        yield (
            f"{goal_name(reached)}: {percent(wanted[most] / reached.expected)} of its wanted "
            f"chicks would come from {most} alone. Losing her would lose them."
        )


def safe_sentence(one: Safe, guide: SeasonGuide) -> str:
    """Hens whose eggs are safe later than those of others, or never; "" for all others."""
    days = guide.pens.diary.waits.clean_out
    contacts = [f"{hen} was with {cock} until {day_text(day)}" for hen, cock, day in one.waits_for]
    told = listed(contacts) if contacts else ""
    if one.since is None:
        reason = f": {told}" if told else ": another cock is with them all season"
        return f"Pen {one.pen}: no egg of {listed(one.hens)} is surely {one.cock}'s{reason}."
    if not told:
        return ""
    return (
        f"Pen {one.pen}: eggs of {listed(one.hens)} are surely {one.cock}'s from "
        f"{day_text(one.since)} on: {told}, and {days} days must pass."
    )


def late_sentences(guide: SeasonGuide) -> Iterator[str]:
    """Sets that hatch too late for something that the next season has to know or use."""
    for _, latest, about in late_limits(guide.table):
        late = [one.number for one in guide.sets if one.hatches > latest]
        if not late:
            continue
        if "locus" in about:
            locus = guide.table.study.loci[str(about["symbol"])]
            missed = f"their pullets show {locus_name(locus)} only after the next plan is made"
        elif "traits" in about:
            missed = "their pullets are not in lay when the next plan is made"
        else:
            missed = f"they are younger than {about['age']} days when the next pens are made up"
        yield f"Set{'s' if len(late) > 1 else ''} {listed(late)} hatch late: {missed}."


def pair_sentences(guide: SeasonGuide) -> Iterator[str]:
    """Pairs that stand although no row takes them, or although a rule is against them."""
    closed: list[str] = []
    for one in guide.safe:
        for hen in one.hens:
            pair = guide.pens.pair(hen, one.cock)
            if pair is None or pair.crossing is None:
                closed.append(f"{hen} with {one.cock}")
            elif pair.broken and not pair.waived:
                why = reasons(pair.broken)
                yield f"{hen} with {one.cock}, pen {one.pen}, against a rule: {why}."
    if closed:
        yield closed_sentence(closed)


def closed_sentence(pairs: Sequence[str]) -> str:
    """Pairs, each as ``hen with cock``, that no open row of matings takes."""
    return (
        f"No row of matings that is open this season takes {listed(pairs)}: their eggs are for no "
        "line and are not counted."
    )


def surplus_sentence(guide: SeasonGuide) -> str:
    """How many cockerels hatch and how many of them nobody needs, before any egg is set."""
    found = surpluses(guide.broods)
    hatched, unwanted, wanted, later = (
        sum(getattr(one, what) for one in found)
        for what in ("hatched", "unwanted", "wanted", "later")
    )
    if not unwanted:
        first = "All of them may be of use by their genes"
    else:
        first = f"{chicks_text(unwanted)} of them are surplus from the first day on"
    more = f"{chicks_text(later)} more" if unwanted else f"{chicks_text(later)}"
    return (
        f"{chicks_text(hatched)} cockerels hatch. {first}. Of {chicks_text(wanted)} wanted ones "
        f"that are raised {more} are surplus once the cocks are chosen: one for each pen, and half "
        "as many spares, at least two for each line."
    )


def class_sentences(guide: SeasonGuide) -> Iterator[str]:
    """The raised chicks of each line by copies at each locus, the sexes apart where they differ."""
    for line in dict.fromkeys(brood.line for brood in guide.broods if brood.line):
        own = [brood for brood in guide.broods if brood.line == line]
        told = []
        for symbol, locus in guide.table.study.loci.items():
            cocks, hens = (_copies(own, symbol, sex) for sex in (Sex.COCK, Sex.HEN))
            if cocks == hens:
                told.append(f"{locus_name(locus)} {_told([2 * one for one in cocks])}")
            else:
                told.append(
                    f"{locus_name(locus)} in cockerels {_told(cocks)}, in pullets {_told(hens)}"
                )
        yield f"{line}, chicks raised: {'; '.join(told)}."


def _copies(broods: Sequence[Brood], locus: str, sex: Sex) -> list[float]:
    return [round(sum(b.classes.get((locus, sex, n), 0.0) for b in broods), 6) for n in (0, 1, 2)]


def _told(copies: Sequence[float]) -> str:
    words = ("with no copy", "with one", "with two")
    parts = [f"{chicks_text(n)} {word}" for n, word in zip(copies, words, strict=True) if n >= 0.05]
    return ", ".join(parts) or "none"
