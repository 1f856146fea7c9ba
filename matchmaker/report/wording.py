"""Every sentence about rules, birds and changes, in plain words with the numbers first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.pairs.crossings import Crossing, Purpose
from matchmaker.pairs.mechanism import Mechanism
from matchmaker.pairs.rules import NO_DATE, Broken, Facts, Rule, nearest_cause
from matchmaker.plan.season.changes import Cause, Change
from matchmaker.plan.season.season_plan import Idle, Unused
from matchmaker.report.days import day_of_fact
from matchmaker.report.numbers import kinship_text, percent, share_text
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from matchmaker.pairs.pair import Pair

PAIR_STATES: Final[Mapping[Rule, str]] = {
    Rule.TOO_RELATED: "too closely related",
    Rule.NO_WANTED_CHICKS: "cannot pass the trait on",
    Rule.LETHAL_CHICKS: "chicks would die",
    Rule.LINE_CLOSED: "would mix lines",
    Rule.NOT_AVAILABLE: "not available",
    Rule.TOO_YOUNG: "too young",
    Rule.UNPROVEN: "not proven to carry",
    Rule.WISHED_APART: "kept apart by wish",
    Rule.UNFIT: "unfit to breed",
    Rule.NOTHING_TO_TEST: "nothing to test",
}

PURPOSES: Final[Mapping[Purpose, str]] = {
    Purpose.BACKCROSS: "backcross",
    Purpose.INTERCROSS: "carrier × carrier",
    Purpose.HOLD: "keep pure",
    Purpose.TEST: "test mating",
}

WAIVED_CAUTION: Final = "Close inbreeding costs hatch and vigour; harmful genes cost chicks."


def breed_name(breed: str) -> str:
    """Return a breed as sentences and headings write it.

    Examples
    --------
    >>> breed_name("sussex"), breed_name("Light Sussex")
    ('Sussex', 'Light Sussex')
    """
    return breed[:1].upper() + breed[1:]


def rule_state(broken: Broken) -> str:
    """The rule in two or three words, for a table."""
    if broken.rule is Rule.UNPROVEN and broken.facts.get("needs") == "free":
        return "not proven pure"
    return PAIR_STATES[broken.rule]


def rule_sentence(broken: Broken) -> str:
    """What the rule found: the number in figures, and the limit beside it."""
    return _SENTENCES[broken.rule](broken)


def _too_related(broken: Broken) -> str:
    measured, limit = kinship_text(broken.measured or 0), kinship_text(broken.limit or 0)
    return (
        f"kinship {measured} is above the limit {limit}: so large a part of the chicks' genes "
        "would be doubled by descent"
    )


def _no_wanted_chicks(broken: Broken) -> str:
    facts = broken.facts
    mechanism = Mechanism(str(facts["mechanism"]))
    return _MECHANISMS[mechanism](facts, broken)


def _rare(facts: Facts, broken: Broken) -> str:
    return (
        f"only {percent(broken.measured or 0, 1)} of the chicks would be wanted ({facts['locus']}, "
        f"{facts['kept']} kept); the limit is {share_text(broken.limit or 0)}"
    )


_MECHANISMS: Final[Mapping[Mechanism, Callable[[Facts, Broken], str]]] = {
    Mechanism.HEN_GIVES_Z_TO_SONS: lambda facts, _: (
        f"no chick can be wanted: a hen gives her {facts['locus']} to her sons only (it lies on "
        f"the Z chromosome, and her daughters get theirs from the sire), {facts['cock']} has none "
        "to give, and this row keeps daughters"
    ),
    Mechanism.ONE_COPY_IN_HENS: lambda facts, _: (
        f"no chick can be wanted: the row asks for daughters with two copies of {facts['locus']}, "
        "and a hen can only have one (it lies on the Z chromosome)"
    ),
    Mechanism.NEITHER_CARRIES: lambda facts, _: (
        f"no chick can be wanted: neither {facts['hen']} nor {facts['cock']} carries "
        f"{facts['locus']}"
    ),
    Mechanism.ONE_PARENT_ONLY: lambda facts, _: (
        f"no chick can be wanted: the row keeps chicks with more copies of {facts['locus']} than "
        f"{facts['hen']} and {facts['cock']} can give together"
    ),
    Mechanism.ALWAYS_PASSED_ON: lambda facts, _: (
        f"no chick can be wanted: the row keeps {facts['kept']} with fewer copies of "
        f"{facts['locus']} than these parents always pass on"
    ),
    Mechanism.LOCI_TOGETHER: lambda facts, _: (
        f"no chick can be wanted: {facts['kept']} cannot be right for {facts['locus']} at once"
    ),
    Mechanism.UNTOLD: lambda facts, _: (
        f"no wanted chick could be told from the others: this row keeps by sight, and by grading "
        f"time {facts['locus']} does not show which {facts['kept']} are wanted"
    ),
    Mechanism.RARE: _rare,
}


def _lethal_chicks(broken: Broken) -> str:
    facts = broken.facts
    final = ", and no wish can allow such a pair" if broken.final else ""
    return (
        f"{percent(broken.measured or 0)} of the chicks are expected to die or suffer from a "
        f"double dose of {facts['locus']}; the limit is {share_text(broken.limit or 0)}{final} "
        f"(put each with a bird that is free of {facts['locus']})"
    )


def _line_closed(broken: Broken) -> str:
    facts = broken.facts
    return (
        f"no crossing of {facts['hens']} hens ({facts['hen']}) with {facts['cocks']} cocks "
        f"({facts['cock']}) is open this season"
    )


def _not_available(broken: Broken) -> str:
    facts = broken.facts
    bird = facts["bird"]
    if facts["why"] == "quarantine":
        after = "" if facts["until"] == NO_DATE else ", after the pens are made up"
        return f"{bird} is in quarantine ({quarantine_end(facts)}{after})"
    if facts["why"] == "rest":
        reason = f": {facts['reason']}" if facts["reason"] else ""
        return f"{bird} rests this season by your wish{reason}"
    return f"{bird} is {facts['why']}"


def quarantine_end(facts: Facts) -> str:
    """Until when a bird is in quarantine, as a part of a sentence."""
    day = str(facts["until"])
    return day if day == NO_DATE else f"until {day_of_fact(day)}"


def _too_young(broken: Broken) -> str:
    facts, day = broken.facts, day_of_fact(str(broken.facts["day"]))
    return (
        f"{facts['bird']} will be {broken.measured:.0f} days old on {day}; breeding birds "
        f"are at least {broken.limit:.0f}"
    )


def _unproven(broken: Broken) -> str:
    facts, chance, limit = broken.facts, percent(broken.measured or 0), percent(broken.limit or 0)
    what = "is free of" if facts["needs"] == "free" else "carries"
    return (
        f"the chance that {facts['bird']} {what} {facts['locus']} is {chance}; at least {limit} is "
        "asked"
    )


def _wished_apart(broken: Broken) -> str:
    reason = broken.facts["reason"]
    return "kept apart by your wish" + (f": {reason}" if reason else "")


def _unfit(broken: Broken) -> str:
    facts = broken.facts
    if "trait" in facts:
        return (
            f"{facts['bird']} scored {broken.measured:g} for {facts['trait']} on average; the "
            f"floor is {broken.limit:g}"
        )
    return f"{facts['bird']} has a defect that culls: {facts['defect']}"


def _nothing_to_test(broken: Broken) -> str:
    facts = broken.facts
    if facts["known"]:
        return f"what {facts['bird']} carries of {facts['locus']} is known: no test chicks needed"
    return (
        f"test chicks of {facts['bird']} with {facts['mate']} would look the same whatever "
        f"{facts['bird']} carries of {facts['locus']}"
    )


_SENTENCES: Final[Mapping[Rule, Callable[[Broken], str]]] = {
    Rule.TOO_RELATED: _too_related,
    Rule.NO_WANTED_CHICKS: _no_wanted_chicks,
    Rule.LETHAL_CHICKS: _lethal_chicks,
    Rule.LINE_CLOSED: _line_closed,
    Rule.NOT_AVAILABLE: _not_available,
    Rule.TOO_YOUNG: _too_young,
    Rule.UNPROVEN: _unproven,
    Rule.WISHED_APART: _wished_apart,
    Rule.UNFIT: _unfit,
    Rule.NOTHING_TO_TEST: _nothing_to_test,
}


def reasons(broken: Iterable[Broken]) -> str:
    """All sentences of a pair or a bird, none twice."""
    return "; ".join(dict.fromkeys(map(rule_sentence, broken)))


def unused_sentence(unused: Unused) -> str:
    """Why a living bird is in no pen."""
    if unused.reason is Idle.SEX_UNKNOWN:
        return "its sex is not known yet"
    if unused.reason is Idle.NO_PLACE:
        return "could be paired, but no place is left where it would add to the plan"
    return reasons(nearest_cause(unused.broken)) or "no mate is left for it"


def change_sentence(change: Change) -> str:
    """One change against the standing plan, with its cause and what it is worth."""
    before = _place(change.cock_before, change.pen_before)
    after = _place(change.cock_after, change.pen_after)
    return f"{change.hen}: {before} → {after} ({_cause(change)})"


def _place(cock: str | None, pen: str | None) -> str:
    return "unused" if cock is None else f"{cock} in pen {pen}"


def _cause(change: Change) -> str:
    if change.cause is Cause.NEW:
        return "was in no pen"
    if change.cause is Cause.BETTER:
        if change.worth is None:
            return "a better plan"
        cost = "less than 0.01" if change.worth < 0.005 else f"{change.worth:.2f}"
        return f"keeping the old pair would cost {cost} wanted chicks"
    return reasons(change.broken) or "the old pair is not in the tables"


def crossing_sentence(crossing: Crossing) -> str:
    """One open crossing, said whole: who with whom, where the chicks go, which are kept."""
    if crossing.tests is not None:
        return (
            f"{listed(crossing.hens)} hens × {listed(crossing.cocks)} cocks: test chicks, none of "
            f"them kept; on trial are the {crossing.tests}s, for {_asked(crossing)}"
        )
    return (
        f"{listed(crossing.hens)} hens × {listed(crossing.cocks)} cocks: chicks join "
        f"{crossing.chicks} ({PURPOSES[crossing.purpose]}); {kept_sentence(crossing)}"
    )


def _asked(crossing: Crossing) -> str:
    keep = crossing.keep[crossing.sexes[0]]
    return " and ".join(f"{_copies(copies)}{locus}" for locus, copies in keep.items())


def _copies(copies: tuple[int, ...]) -> str:
    if not copies:
        return ""
    return f"{' or '.join(map(str, copies))} {'copy' if copies == (1,) else 'copies'} of "


def kept_sentence(crossing: Crossing) -> str:
    """Which chicks of a crossing are kept, by copies, as a part of a sentence."""
    sons, daughters = (_kept_of(crossing, sex) for sex in (Sex.COCK, Sex.HEN))
    if crossing.sexes == (Sex.COCK,):
        return f"kept are sons{sons}"
    if crossing.sexes == (Sex.HEN,):
        return f"kept are daughters{daughters}"
    if sons == daughters:
        return f"kept are chicks{sons}" if sons else "all chicks are kept"
    return f"kept are sons{sons} and daughters{daughters}"


def _kept_of(crossing: Crossing, sex: Sex) -> str:
    parts = [f"{_copies(copies)}{locus}" for locus, copies in crossing.keep.get(sex, {}).items()]
    return f" with {' and '.join(parts)}" if parts else ""


def waived_sentence(pairs: Sequence[Pair]) -> str:
    """Pairs of one cock that only a wish allows, with what all of them break and may cost."""
    hens, one = listed([pair.hen for pair in pairs]), pairs[0]
    return (
        f"By your wish, against the rules: {hens} with {one.cock} ({reasons(one.broken)}). "
        f"{WAIVED_CAUTION}"
    )


GROUP_LEFT_OUT = (
    "Left out of account here: what you ask of the kinship of the parents as a group "
    "(group_kinship_max, kinship_price)."
)
"""Where the search would take too long for it, or few birds move and hardly change it."""


def counted(number: int, word: str) -> str:
    """A number of things, the word in the singular for one.

    Examples
    --------
    >>> counted(1, "hen"), counted(0, "hen")
    ('1 hen', '0 hens')
    """
    return f"{number} {word}{'' if number == 1 else 's'}"


def listed(names: Iterable[str], last: str = "and") -> str:
    """Names as a sentence lists them, ``last`` before the last one.

    Examples
    --------
    >>> listed(["Alder"]), listed(["Alder", "Birch", "Cedar"])
    ('Alder', 'Alder, Birch and Cedar')
    """
    names = list(names)
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {last} {names[-1]}"
