"""Sentences about young birds: why each is kept, waits or goes, and what is not seen yet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.grade.choosing import Ground
from matchmaker.grade.unseen import Kind
from matchmaker.grade.verdicts import Verdict, Why
from matchmaker.pairs.mechanism import Mechanism
from matchmaker.pairs.rules import Rule, nearest_cause
from matchmaker.rebalance.spares import spares_for
from matchmaker.report.days import whole_day
from matchmaker.report.numbers import chicks_text, kinship_text, percent
from matchmaker.report.wording import counted, listed, quarantine_end, rule_sentence
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matchmaker.genetics.study import Study
    from matchmaker.grade.grading import Grade, Grading
    from matchmaker.grade.unseen import Unseen
    from matchmaker.grade.worth import Worth
    from matchmaker.pairs.rules import Broken

CHOICES: Final = {1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth"}

NUMBER: Final = "makes up the number"
"""The ground of a bird that no plan takes, and that has a place all the same."""


def age_text(days: int) -> str:
    """An age as keepers say it: days up to two weeks, then weeks.

    Examples
    --------
    >>> age_text(1), age_text(9), age_text(57)
    ('1 day', '9 days', '8 weeks')
    """
    if days < 14:
        return counted(days, "day")
    return f"{days // 7} weeks"


def ages_text(ages: Sequence[int]) -> str:
    """The ages of some birds, from the least to the greatest.

    Examples
    --------
    >>> ages_text([315, 294, 300]), ages_text([57]), ages_text([1, 15])
    ('42 to 45 weeks', '8 weeks', '1 day to 2 weeks')
    """
    least, most = age_text(min(ages)), age_text(max(ages))
    if least == most:
        return most
    number, _, unit = least.partition(" ")
    return f"{number if most.endswith(unit) else least} to {most}"


def reason_text(grading: Grading, same: Sequence[Grade]) -> str:
    """Why birds are kept, wait or go that have the same ground: of what differs the range is told.

    Their bands are not in it. Birds belong together for which ``ground_text`` is the same.
    """
    text = ground_text(grading, same[0])
    if len(same) > 1:
        text = text.replace(f"without {_object(same[0].bird.sex)} ", "without one of them ")
    return f"{text}: {_best(same)}" if text.endswith(NUMBER) else text


def ground_text(grading: Grading, grade: Grade) -> str:
    """Why a bird is kept, waits or goes, without what alone differs among birds told together."""
    ruling = grade.ruling
    if ruling.why is Why.REST:
        return "rests by your wish, and stays"
    if ruling.verdict is Verdict.KEEP:
        return _kept(grading, grade)
    if ruling.verdict is Verdict.WAIT:
        return _waits(grading, grade)
    return _goes(grading, grade)


def _kept(grading: Grading, grade: Grade) -> str:
    alone = f"the only {grade.bird.line} {grade.bird.sex} fit to breed; "
    return alone * grading.alone(grade) + _ground(grading, grade)


def _ground(grading: Grading, grade: Grade) -> str:
    ground, choice = grade.ruling.ground, _choice(grade)
    if ground is Ground.WISH:
        return "by your wish in wishes.csv" + (f"; {choice}" if choice else "")
    if ground is Ground.PARTED:
        return "in it a gene you want has parted from a near one you do not want; few have that"
    if ground is Ground.FAMILY:
        return f"else no bird would be left of its family ({grade.family})"
    if ground is Ground.SPARE:
        spares = spares_for(grading.cocks_penned)
        return f"spare cock: {spares} are kept beside {grading.cocks_penned} in the pens"
    return choice or NUMBER


def _choice(grade: Grade) -> str:
    """Which plan takes the bird, and what it loses without; "" where none takes it."""
    if grade.choice is None:
        return ""
    if grade.choice == 1:
        return f"first choice for next spring's pens{worth_text(grade, 'the plan')}"
    name = CHOICES.get(grade.choice, f"{grade.choice}th")
    before = "first choices" if grade.choice == 2 else "those before"
    return f"{name} choice, in the pens if {before} fail{worth_text(grade, 'that plan')}"


def worth_text(grade: Grade, plan: str) -> str:
    """What a plan loses without a bird, to be added to a sentence; "" where it is not known."""
    worth, whom = grade.worth, _object(grade.bird.sex)
    if worth is None:
        return ""
    if worth.needed:
        return f"; without {whom} {plan} cannot give the lines what they ask for at least"
    if not worth.told:
        return "; another would do nearly as well"
    part = f", most of it in {worth.line}" if worth.line else ""
    return f"; without {whom} {plan} loses {_between(worth)} wanted chicks{part}"


def _between(worth: Worth) -> str:
    least, most = chicks_text(worth.at_least), chicks_text(worth.at_most)
    return least if least == most else f"{least} to {most}"


def _object(sex: Sex | None) -> str:
    return "it" if sex is None else {Sex.COCK: "him", Sex.HEN: "her"}[sex]


def _best(same: Sequence[Grade]) -> str:
    values = sorted(grade.best.value for grade in same)
    least, most = chicks_text(values[0]), chicks_text(values[-1])
    counts = least if least == most else f"{least} to {most}"
    return f"the best pair counts {counts} wanted chicks"


def _waits(grading: Grading, grade: Grade) -> str:
    why = grade.ruling.why
    if why is Why.UNSEEN:
        return _unseen(grading, grade)
    if why is Why.SCORES:
        told = [one for one in grade.unseen if one.kind is Kind.SCORES]
        return "no place yet, but not scored yet: " + unseen_sentence(grading, told)
    if why is Why.NO_MATE:
        return _no_mate(grade)
    if why is Why.TRIAL:
        return "no pair for it next spring but in a test mating, to tell what it carries"
    return later_text(grading, grade)


def _unseen(grading: Grading, grade: Grade) -> str:
    """A bird whose fate hangs on what is not seen yet, of the sexes that could be of use."""
    able = [one.sex for one in grade.prospects if one.fit or one.open_needs]
    only = able[0] if len(able) == 1 < len(grade.prospects) else None
    told = [
        one
        for one in grade.unseen
        if one.kind is not Kind.SCORES and (only is None or one.sex in {None, only})
    ]
    unseen = unseen_sentence(grading, told)
    if grade.ruling.ground is not None:
        return f"{_kept(grading, grade)}; waits for what is not seen yet: {unseen}"
    condition = "if it turns out well" if only is None else f"if it is a {only}"
    return f"would have a place {condition}: {unseen}"


def later_text(grading: Grading, grade: Grade) -> str:
    """Why a bird counts for later springs only."""
    spring = grading.spring
    told = [_later(one, grading) for one in nearest_cause(grade.ruling.broken)]
    if not told:
        return f"no mate for it is here for the pens of {whole_day(spring.pen_up)}"
    return "; ".join(dict.fromkeys(told))


def _later(broken: Broken, grading: Grading) -> str:
    if broken.rule is Rule.TOO_YOUNG:
        return (
            f"{broken.measured:.0f} days old on {whole_day(grading.spring.pen_up)}, and "
            f"{broken.limit:.0f} are asked: counts for the spring after"
        )
    if broken.rule is Rule.NOT_AVAILABLE:
        return f"in quarantine when the pens are made up ({quarantine_end(broken.facts)})"
    if broken.rule is Rule.LINE_CLOSED:
        return "its line's crossings are closed next spring, and open in another"
    return rule_sentence(broken)


def _goes(grading: Grading, grade: Grade) -> str:
    ruling = grade.ruling
    if ruling.why is Why.NO_MATE:
        return _no_mate(grade)
    if ruling.why is Why.RULED_OUT:
        return ruled_out_text(grading, grade)
    return _full(grading, grade)


def _full(grading: Grading, grade: Grade) -> str:
    told = []
    for one in grade.prospects:
        places = grading.places[one.place]
        old = f" beside {places.old} older" if places.old else ""
        plural = "s" if places.young > 1 else ""
        told.append(f"{places.young} young {one.sex}{plural}{old}")
    return f"{grade.bird.line} is full: {listed(told)} needed; others add more"


def _no_mate(grade: Grade) -> str:
    rows = grade.best.rows
    if not rows:
        return f"no crossing of your scheme takes {grade.bird.line} {grade.best.sex}s"
    nearest = min(rows, key=lambda pair: (pair.kinship, pair.key))
    if not any(broken.rule is Rule.TOO_RELATED for broken in grade.ruling.broken):
        return "; ".join(map(rule_sentence, nearest_cause(grade.ruling.broken)))
    end = "of use to another flock" if grade.verdict is Verdict.LET_GO else "it lacks another mate"
    return (
        "every possible mate here is too closely related (least kinship "
        f"{kinship_text(nearest.kinship)}): {end}"
    )


def ruled_out_text(grading: Grading, grade: Grade) -> str:
    """Why no season can use a bird, with the mechanism."""
    study = grading.table.study
    told = [_barred(one, grade, study) for one in nearest_cause(grade.ruling.broken)]
    return "; ".join(dict.fromkeys(told))


def _barred(broken: Broken, grade: Grade, study: Study) -> str:
    if "defect" in broken.facts:
        return f"a defect that culls: {broken.facts['defect']}"
    locus = str(broken.facts.get("locus", ""))
    name = f"{study.loci[locus].name} ({locus})" if locus in study.loci else locus
    neither = broken.facts.get("mechanism") == Mechanism.NEITHER_CARRIES
    if neither or (broken.facts.get("needs") == "carrier" and not broken.measured):
        return f"does not carry {name}, which its line wants{_by_sire(grade, study, locus)}"
    if broken.rule is Rule.UNPROVEN:
        return _unlikely(broken, name, filled=grade.ruling.hope > 0)
    return rule_sentence(broken)


def _unlikely(broken: Broken, name: str, *, filled: bool) -> str:
    """A bird that hardly is what its line asks for, or whose place others fill meanwhile."""
    is_so = "carries" if broken.facts["needs"] == "carrier" else "is free of"
    return (
        f"{is_so} {name} with a chance of {percent(broken.measured or 0.0)} only; at least "
        f"{percent(broken.limit or 0.0)} is asked" + (", and its place is filled" * filled)
    )


def _by_sire(grade: Grade, study: Study, locus: str) -> str:
    """The mechanism where it is the sex chromosome: a hen has her only Z from her sire."""
    sires = grade.bird.record.sire.candidates
    if locus not in study.loci or not study.loci[locus].z_linked:
        return ""
    if grade.best.sex is not Sex.HEN or len(sires) != 1:
        return ""
    sire = sires[0][0]
    if study.genotypes[locus].carrier_probability(sire) > 0:
        return ""
    return f": a hen has her only Z from her sire, and {sire} has none to give"


def unseen_sentence(grading: Grading, unseen: Iterable[Unseen]) -> str:
    """All that is not seen yet of a bird, in one sentence; "" where that is nothing."""
    return "; ".join(unseen_texts(grading, unseen))


def unseen_texts(grading: Grading, unseen: Iterable[Unseen]) -> Iterator[str]:
    """Each thing that is not seen yet, with from when on it can be."""
    for one in unseen:
        since = "" if one.since is None else f"from about {whole_day(one.since)}"
        if one.kind is Kind.SEX:
            yield f"its sex is told {since}" if since else "its sex is not written down"
        elif one.kind is Kind.SCORES:
            names = listed(one.names)
            yield f"scores of {names} to come {since}" if since else f"scores of {names} are due"
        else:
            yield _of_locus(grading.table.study, one, since)


def _of_locus(study: Study, one: Unseen, since: str) -> str:
    symbol = one.names[0]
    what = f"{study.loci[symbol].name} ({symbol}; chance {percent(one.chance or 0.0)})"
    if one.tells:
        told = study.loci[one.tells].name
        what = f"{study.loci[symbol].name} ({symbol}), a sign of {told} ({one.tells}),"
    if one.sex is not None:
        what = f"if a {one.sex}, {what}"
    if one.kind is Kind.LOOK:
        return f"{what} is seen {since}" + (", when she lays" if one.at_lay else "")
    if one.kind is Kind.LOOK_NOW:
        return (
            f"{what} can be seen now{' if she lays' if one.at_lay else ''}: look, and write it down"
        )
    return f"{what} is told by a DNA test or test chicks only"
