"""Sentences about tests: what an answer would change, and what test chicks would take."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.genetics.genotypes.progeny import LEVELS, Obstacle, Question
from matchmaker.genetics.loci.locus import Look
from matchmaker.report.days import whole_day
from matchmaker.report.locus_sentences import plain_name
from matchmaker.report.numbers import chicks_text, percent
from matchmaker.report.wording import counted, listed
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.genetics.genotypes.progeny import ProgenyTest
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.plan.bird_tests.answers import Answer
    from matchmaker.plan.bird_tests.proving import ChickTrial
    from matchmaker.plan.bird_tests.weighing import AnswerWorth, Move

MOST_MATES: Final = 3
"""Mates named; of more only the number is said."""

OBSTACLES: Final[Mapping[Obstacle, str]] = {
    Obstacle.NEVER: "it cannot be what they would prove",
    Obstacle.NOT_PASSED_ON: "a hen passes the gene on to her sons only, and sons do not show it",
    Obstacle.HIDDEN: "they look alike whatever the bird carries",
    Obstacle.OTHER_ALLELES: "other alleles of the locus hide it, or are hidden by it",
    Obstacle.HARMFUL: "such a mating can give chicks that die or are crippled",
    Obstacle.TOO_MANY: "hundreds would be needed",
}


def gain_text(gain: float) -> str:
    """A gain in wanted chicks; one too small to print is shown as such.

    Examples
    --------
    >>> gain_text(0.0), gain_text(0.01), gain_text(6.114)
    ('0', '< 0.1', '6.1')
    """
    if gain == 0:
        return "0"
    return "< 0.1" if gain < 0.05 else chicks_text(gain)


def wanted_text(gain: float) -> str:
    """A gain with its unit.

    Examples
    --------
    >>> wanted_text(6.114), wanted_text(0.01)
    ('6.1 wanted chicks', '< 0.1 wanted chicks')
    """
    return f"{gain_text(gain)} wanted chicks"


def copies_text(copies: int) -> str:
    """A number of copies in words.

    Examples
    --------
    >>> copies_text(0), copies_text(1)
    ('no copy', 'one copy')
    """
    return ("no copy", "one copy", "two copies")[copies]


def answer_text(answer: Answer) -> str:
    """What a test says, with its chance."""
    said = (
        copies_text(answer.copies)
        if answer.copies is not None
        else "all as expected"
        if answer.clean
        else "one that is not"
    )
    return f"{said} ({percent(answer.chance)})"


def change_text(bird: str, sex: Sex | None, worth: AnswerWorth) -> str:
    """What an answer would change in the pens, first of all for the bird itself."""
    if not worth.gain:
        return "the pens stay the same"
    added = f"{wanted_text(worth.gain)} more than without the test"
    moves = worth.moves
    if not moves:
        return f"other pens would add {added}, too little to move a hen for"
    hens = "1 hen moves" if len(moves) == 1 else f"{len(moves)} hens move"
    own = _own_move(bird, moves) if sex is Sex.HEN else _own_hens(bird, moves)
    return f"{hens}, {added}{own}"


def _own_move(hen: str, moves: Sequence[Move]) -> str:
    for move in moves:
        if move.hen == hen:
            before, after = move.before or "no pen", move.after or "no pen"
            return f"; {hen} goes from {before} to {after}"
    return ""


def _own_hens(cock: str, moves: Sequence[Move]) -> str:
    lost = [move.hen for move in moves if move.before == cock]
    won = [move.hen for move in moves if move.after == cock]
    parts = [f"{verb} {listed(hens)}" for verb, hens in (("loses", lost), ("gets", won)) if hens]
    return f"; {cock} {' and '.join(parts)}" if parts else ""


def trial_text(trial: ChickTrial, locus: Locus) -> str:
    """What test chicks would take, what they prove, and whether they come in time."""
    test = trial.test
    if trial.chicks is None:
        obstacle = OBSTACLES[test.obstacle or Obstacle.HIDDEN]
        return f"Test chicks can prove nothing here: {obstacle}."
    if not trial.chicks:
        return f"Test chicks: {_known_already(trial, locus)}"
    return " ".join((f"Test chicks: {_proof(trial, locus)}", _by_whom(trial), _when(trial, locus)))


def _proof(trial: ChickTrial, locus: Locus) -> str:
    test = trial.test
    more = test.chicks(LEVELS[1])
    he = _pronoun(test)
    surer = f" ({more} for {percent(LEVELS[1])})" if more is not None else ""
    proof = (
        f"{_counted(trial.chicks or 0, test)} by a {mate_text(test)}, {look_text(test, locus)}, "
        f"prove with {percent(LEVELS[0])} that {he} {proved_text(test)}{surer}"
    )
    other = "carries it" if test.question is Question.FREE else "does not"
    contrary = f"; {contrary_text(test, locus)} proves that {he} {other}" if test.decisive else ""
    return f"{proof}{contrary}."


def _known_already(trial: ChickTrial, locus: Locus) -> str:
    """Where what is known says it as surely as test chicks usually have to."""
    test = trial.test
    first = (
        f"none are needed to say with {percent(LEVELS[0])} that {_pronoun(test)} "
        f"{proved_text(test)}: what is written already does"
    )
    more = test.chicks(LEVELS[1])
    if not more:
        return f"{first}."
    looks = f"{_counted(more, test)} by a {mate_text(test)}, {look_text(test, locus)},"
    return f"{first}. {looks} make it {percent(LEVELS[1])}."


def _pronoun(test: ProgenyTest) -> str:
    return "he" if test.mate is Sex.HEN else "she"


def mate_text(test: ProgenyTest) -> str:
    """The kind of mate: its sex and what it carries."""
    return f"{test.mate} with {copies_text(test.mate_copies)}"


def proved_text(test: ProgenyTest) -> str:
    """What is proved."""
    if test.question is Question.FREE:
        return "carries none"
    return f"has {copies_text(test.proves)}"


def look_text(test: ProgenyTest, locus: Locus) -> str:
    """How all the chicks have to look."""
    name = plain_name(locus)
    if Look.HIDDEN not in test.expected:
        strong = locus.dominance == "incomplete" and Look.ONE_COPY not in test.expected
        return f"all showing {name} as of two copies" if strong else f"all showing {name}"
    if test.expected == {Look.HIDDEN}:
        return f"none showing {name}"
    return f"none showing {name} as of two copies"


def contrary_text(test: ProgenyTest, locus: Locus) -> str:
    """The chick that settles the question the other way."""
    one = {None: "chick", Sex.COCK: "son", Sex.HEN: "daughter"}[test.judged]
    if test.expected == {Look.HIDDEN}:
        return f"one {one} that shows it"
    if Look.HIDDEN not in test.expected and locus.dominance != "incomplete":
        return f"one {one} that does not show it"
    return f"one {one} that looks otherwise"


def _counted(chicks: int, test: ProgenyTest) -> str:
    one, many = {
        None: ("chick", "chicks"),
        Sex.COCK: ("son", "sons"),
        Sex.HEN: ("daughter", "daughters"),
    }[test.judged]
    return f"{chicks} {one if chicks == 1 else many}"


def _by_whom(trial: ChickTrial) -> str:
    if not trial.mates:
        return "No such mate is here that is fit and unrelated enough."
    named = list(trial.mates[:MOST_MATES])
    more = len(trial.mates) - len(named)
    return f"Mates here: {listed([*named, f'{more} more'] if more else named)}."


def _when(trial: ChickTrial, locus: Locus) -> str:
    if trial.seen_on is None:
        return "No egg would come of it."
    eggs = counted(trial.eggs or 0, "egg")
    shows = f"; it shows at {locus.shows_at_days} days" if locus.shows_at_days > 1 else ""
    late = "" if trial.in_time or not trial.mates else ": too late for this spring's pens"
    return f"About {eggs}{shows}: known on {whole_day(trial.seen_on)} at the earliest{late}."
