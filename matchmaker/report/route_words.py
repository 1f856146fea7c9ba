"""Every sentence of a route: what is crossed, what comes of it, which chicks are kept and how."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.loci.locus import Look
from matchmaker.report.locus_sentences import age_text, plain_name
from matchmaker.report.numbers import percent, share_text
from matchmaker.report.wording import breed_name
from matchmaker.route.pitfalls import Why
from matchmaker.route.task import Telling, backcrosses_of
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.route.genome import Mix
    from matchmaker.route.markers import Marker
    from matchmaker.route.pitfalls import Pitfall
    from matchmaker.route.schemes import Scheme
    from matchmaker.route.steps import Kept, Step
    from matchmaker.route.task import Task
    from matchmaker.route.telling import Cell
    from matchmaker.route.ways import Way

CHICKS: Final = {Sex.COCK: "sons", Sex.HEN: "daughters"}
BIRDS: Final = {Sex.COCK: "cocks", Sex.HEN: "hens"}
OTHER: Final = {Sex.COCK: Sex.HEN, Sex.HEN: Sex.COCK}
COUNTED: Final = {0: "no copy", 1: "one copy", 2: "two copies"}

SCHEMES: Final = {
    "any": "whatever is quickest",
    "hens": "only hens carry",
    "cocks": "only cocks carry",
    "no-dna": "no DNA test; birds are proven by their chicks where they must be",
    "looks": "nothing tested; birds that may carry are bred from unseen",
    "sure": "nothing tested; only birds kept that carry for certain",
    "marker": "cocks carry, chosen by a visible neighbour; test matings, no DNA",
}
"""What each scheme may do, in words."""

CAUTIONS: Final = (
    "Keep more than one cock of each class, from different sires: no mating of brother and sister "
    "is meant here, whatever the step says. For what may be kept and tested, local rules and a "
    "veterinarian go before this page."
)


def fraction_text(part: Fraction) -> str:
    """A chance as a fraction, or in percent where the fraction says little.

    Examples
    --------
    >>> fraction_text(Fraction(1, 4)), fraction_text(Fraction(1)), fraction_text(Fraction(12, 25))
    ('1/4', 'all', '48.0 %')
    """
    if part == 1:
        return "all"
    return str(part) if part.denominator <= 16 else percent(float(part), 1)


def copies_words(loci: Sequence[Locus], copies: Sequence[int]) -> str:
    """Copies at each locus in words.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> copies_words([catalogue()["O"], catalogue()["P"]], [1, 0])
    'one copy of O, no copy of P'
    """
    return ", ".join(
        f"{COUNTED[number]} of {locus.symbol}" for locus, number in zip(loci, copies, strict=True)
    )


def by_copies(task: Task, mix: Mix) -> list[tuple[tuple[int, ...], Fraction]]:
    """How much of a class has which copies, the likeliest first."""
    found: dict[tuple[int, ...], Fraction] = {}
    for state, chance in mix:
        copies = task.genome.copies(state)
        found[copies] = found.get(copies, Fraction(0)) + chance
    return sorted(found.items(), key=lambda one: (-one[1], one[0]))


def mix_words(task: Task, mix: Mix) -> str:
    """What a class of chicks is, by copies."""
    parts = by_copies(task, mix)
    return "; ".join(
        f"{fraction_text(part)} {copies_words(task.genome.loci, copies)}" for copies, part in parts
    )


def way_words(task: Task, way: Way) -> str:
    """A class of parents in words: whose birds, or what they carry."""
    if way.source is not None:
        kind = " (donor)" if way.donor else ""
        breed = way.recurrent or way.donor
        name = breed_name(way.source.name) if breed else way.source.name
        named = f"{name}{kind} {BIRDS[way.sex]}"
        carried = "" if way.recurrent or way.donor else f" ({carried_words(task, way.mix)})"
        return named + carried
    times = backcrosses_of(way.share)
    raised = "first-cross" if times == 0 else f"backcross-{times}"
    return f"{raised} {BIRDS[way.sex]} ({carried_words(task, way.mix)})"


def carried_words(task: Task, mix: Mix) -> str:
    """What a class of parents carries, in one short phrase."""
    parts = by_copies(task, mix)
    if len(parts) == 1:
        return copies_words(task.genome.loci, parts[0][0])
    carrying = task.carrying(mix)
    symbols = " and ".join(task.genome.loci[at].symbol for at in task.must_carry)
    if carrying == 1:
        return f"all carry {symbols}"
    return f"{chance_words(carrying)} {_carry(carrying)} {symbols}"


def chance_words(part: Fraction) -> str:
    """A chance as "1 in 4", or in percent.

    Examples
    --------
    >>> chance_words(Fraction(1, 4)), chance_words(Fraction(24, 25))
    ('1 in 4', '96 %')
    """
    whole = part.denominator <= 16
    return f"{part.numerator} in {part.denominator}" if whole else percent(float(part))


def _carry(part: Fraction) -> str:
    one = part.numerator == 1 and part.denominator <= 16
    return "carries" if one else "carry"


def looks_words(task: Task, cell: Cell) -> str:
    """What is seen or tested of a class, as the end of "the chicks ..."."""
    seen: list[str] = []
    for locus, label in zip(task.genome.loci, cell.labels, strict=True):
        name = plain_name(locus)
        if label is Look.SHOWN:
            seen.append(f"that show {name}")
        elif label is Look.ONE_COPY:
            seen.append(f"with the look of one copy of {locus.symbol}")
        elif label is Look.HIDDEN:
            seen.append(f"that do not show {name}")
        elif isinstance(label, int):
            seen.append(f"with {COUNTED[label]} of {locus.symbol}")
    return " and ".join(seen)


def step_heading(task: Task, step: Step) -> str:
    """Season and parents of a step."""
    return f"Season {step.season}: {way_words(task, step.cock)} × {way_words(task, step.hen)}"


def chicks_sentence(task: Task, step: Step) -> str:
    """What the sons and the daughters of a cross are."""
    sons, daughters = (step.chicks[sex] for sex in (Sex.COCK, Sex.HEN))
    if by_copies(task, sons) == by_copies(task, daughters):
        return f"Sons and daughters: {mix_words(task, sons)}."
    return f"Sons: {mix_words(task, sons)}. Daughters: {mix_words(task, daughters)}."


def keep_sentences(task: Task, kept: Kept) -> list[str]:
    """Which chicks are kept, how they are told and when."""
    cell, chicks = kept.cell, CHICKS[kept.way.sex]
    told = looks_words(task, cell)
    if cell.telling is Telling.ANY:
        return [f"Keep any {chicks}: {_blind(task, cell)}."]
    if cell.telling in (Telling.SIGHT, Telling.LATE_SIGHT):
        wait = ", a season later" if cell.delay else ""
        doubt = "" if task.carrying(cell.mix) == 1 else f"; {_blind(task, cell)}"
        return [f"Keep the {chicks} {told} (told {_when(cell.days)}{wait}){doubt}."]
    if cell.telling is Telling.DNA:
        return [
            (
                f"Keep the {chicks} {told} by a DNA test; about {kept.dna_tests} are to be tested"
                f"{_seen_first(cell)}."
            )
        ]
    return [f"Keep the {chicks} {told}, proven by test matings.", *_proof(task, kept)]


def _when(days: int) -> str:
    age = age_text(days)
    return f"at {age}" if age[0].isdigit() else age


def _seen_first(cell: Cell) -> str:
    return "" if cell.tested == 1 else ", looks first"


def _blind(task: Task, cell: Cell) -> str:
    carrying = task.carrying(cell.mix)
    if carrying == 1:
        return "all carry"
    some = f"{chance_words(carrying)} {_carry(carrying)}"
    return f"{some} and nobody can tell which, so keep all of them"


def _proof(task: Task, kept: Kept) -> list[str]:
    cell, test = kept.cell, kept.cell.test
    if test is None or cell.locus is None:
        return []
    locus = task.genome.loci[cell.locus]
    judged = "chicks" if test.judged is None else CHICKS[test.judged]
    mate = f"{test.mate}s with {COUNTED[test.mate_copies]} of {locus.symbol}"
    looks = " or ".join(_look(locus, look) for look in sorted(test.expected))
    counts = " / ".join(str(test.chicks(level)) for level in (0.95, 0.99))
    when = (
        "Breed from all of them meanwhile and raise the chicks of those proven"
        if cell.later
        else f"That takes {'a season' if cell.delay == 1 else f'{cell.delay} seasons'} more"
    )
    return [
        (
            f"Test mating: {mate}. {counts} {judged} (95 / 99 %), all {looks}, mean "
            f"{COUNTED[test.proves]} of {locus.symbol}; {_contrary(kept)}. Judged "
            f"{_when(test.days)}. About {kept.tested_birds} birds are to be tested, "
            f"{kept.tested_birds * cell.test_chicks} test chicks to raise."
        ),
        f"{when}.",
    ]


def _contrary(kept: Kept) -> str:
    test = kept.cell.test
    sure = test is not None and test.decisive
    return "one other chick proves the contrary" if sure else "one other chick speaks against it"


def _look(locus: Locus, look: Look) -> str:
    name = plain_name(locus)
    return {Look.SHOWN: f"with {name}", Look.HIDDEN: f"without {name}"}.get(
        look, f"with the look of one copy of {locus.symbol}"
    )


def amount_sentences(step: Step) -> list[str]:
    """Chicks to raise and eggs to set, for one bird of each class and for the working number."""
    each = " of each" if len(step.kept) > 1 else ""
    trial = (
        ["The eggs are of all birds on trial; chicks of those proven are raised."]
        if step.on_trial
        else []
    )
    return [
        (
            f"Raise {_two(step.working.rear)} chicks for {step.working.birds} birds{each} "
            f"(95 / 99 %): set {_two(step.working.set_)} eggs. For one{each}: "
            f"{_two(step.one.rear)} chicks, {_two(step.one.set_)} eggs."
        ),
        *trial,
    ]


def _two(numbers: dict[float, int | None]) -> str:
    return " / ".join("over 100,000" if n is None else f"{n:,}" for n in numbers.values())


def after_sentence(step: Step, recurrent: str) -> str:
    """What the chicks are worth in the long run: share, and the donor's piece."""
    pieces: dict[str, set[int]] = {}
    for kept in step.kept:
        for symbol, length in kept.piece.items():
            pieces.setdefault(symbol, set()).add(round(length))
    told = [
        f"{' or '.join(map(str, sorted(lengths)))} cM around {symbol}"
        for symbol, lengths in sorted(pieces.items())
    ]
    piece = f"; donor's piece about {' and '.join(told)}" if told else ""
    return f"They are {share_text(float(step.share))} {breed_name(recurrent)}{piece}."


def pitfall_sentence(task: Task, pitfall: Pitfall, recurrent: str) -> str:
    """Why a plan that looks right fails, with its chance."""
    locus = next(one for one in task.genome.loci if one.symbol == pitfall.locus)
    recurrent = breed_name(recurrent)
    chicks = CHICKS[pitfall.sex] if pitfall.sex else "chicks"
    texts = {
        Why.HEN_GIVES_Z_TO_SONS: f"Keeping the daughters of a hen that carries {locus.symbol} and "
        f"of a {recurrent} cock: the chance that one of them carries is exactly 0, in every season "
        "and all their offspring's too. A hen gives her only Z to her sons; a daughter has her "
        "sire's.",
        Why.NEVER_SHOWS: f"Waiting for {chicks} of a carrier and a {recurrent} bird to show "
        f"{locus.symbol}: the chance is 0. They have one copy at most, and with one they look like "
        "those with none. It shows again where carriers are crossed with carriers.",
        Why.NOT_SHOWN_BY_SEX: f"Choosing {chicks} by looks: no {pitfall.sex} ever shows "
        f"{locus.symbol}, whatever it carries.",
        Why.NEIGHBOUR: f"Crossing carriers with carriers before {pitfall.other} is broken off from "
        f"{locus.symbol}: {_one_in(pitfall.chance)} chicks has the wanted genotype. Look for a "
        f"chick that has {locus.symbol} without {pitfall.other} first, or for a donor that has.",
        Why.CARRIERS_STAY_SINGLE: "Stopping after the last backcross: every carrier then still has "
        f"one copy, and half of its chicks by a {recurrent} mate have none, for ever. The cross of "
        "carriers with carriers at the end, and knowing which of its chicks are pure, are part of "
        "the route.",
        Why.DOUBLE_DOSE_HARMS: f"Crossing carriers of {locus.symbol} with each other: a quarter of "
        "the chicks have two copies and die or are crippled. Always carrier × free; half of the "
        f"chicks carry, for ever, and {locus.symbol} is never fixed. Ask a veterinarian first.",
    }
    return texts[pitfall.why]


def _one_in(chance: Fraction) -> str:
    return "none of the" if not chance else f"one in {round(1 / chance):,}"


def marker_sentence(marker: Marker) -> str:
    """How good a visible neighbour is as a sign of a hidden gene."""
    after = ", ".join(percent(float(part)) for part in marker.after)
    return (
        f"{marker.neighbour} as a sign of {marker.hidden} in {BIRDS[marker.sex]}: of those that "
        f"show {marker.neighbour}, {after} carry {marker.hidden} after 1, 2, ... backcrosses, if "
        f"the donor had both on one chromosome and nothing else is looked at. Look again at "
        f"each generation's daughters; in a family where the two have parted it says nothing, or "
        "the contrary."
    )


def none_sentence(task: Task, scheme: Scheme) -> str:
    """Why a scheme has no route."""
    name = scheme.name
    if scheme.gave_up:
        return "the search gave up before it found one; ask for fewer --backcrosses"
    z_loci = [task.genome.loci[at].symbol for at in task.carried if task.genome.loci[at].z_linked]
    if name == "hens" and z_loci:
        return f"no daughter of a carrier hen has her {z_loci[0]}"
    if name in {"looks", "sure"}:
        return "looks do not tell the birds that have to be known"
    return "there is no way within the seasons and chicks looked at"


def symbols_text(loci: Iterable[Locus]) -> str:
    """Names and symbols of loci.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> symbols_text([catalogue()["O"]])
    'blue eggshell (O)'
    """
    return " and ".join(f"{plain_name(one)} ({one.symbol})" for one in loci)
