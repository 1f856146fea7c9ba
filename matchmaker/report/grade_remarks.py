"""What is said of a grading as a whole: its head, its remarks and what it took for granted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.grade.verdicts import Verdict
from matchmaker.rebalance.spares import spares_for
from matchmaker.report.days import whole_day
from matchmaker.report.wording import counted, listed
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.grade.grading import Grade, Grading

MOST_NAMED: Final = 6
"""Birds named in a remark; of more only the number is said."""

PARTING: Final = (
    "before you part with {}. Whether and how birds may be killed is a matter "
    "of local rules; ask a veterinarian, also about any bird that is not well."
)
"""The usual caution where birds leave the flock."""


def head_text(grading: Grading) -> str:
    """What was graded, when and for what."""
    spring = grading.spring
    return (
        f"Young birds on {whole_day(grading.day)}, for the pens to be made up on "
        f"{whole_day(spring.pen_up)}"
    )


def counts_text(grading: Grading) -> str:
    """How many are kept, wait and go."""
    kept, wait, gone = (len(grading.of(one)) for one in Verdict)
    return (
        f"{counted(len(grading.grades), 'bird')} never old enough for a pen so far: keep {kept}, "
        f"{wait} wait, let {gone} go."
    )


def last_texts(grading: Grading) -> Iterator[str]:
    """What is to be known of the whole: spares, what was left out, the caution."""
    if grading.cocks_penned:
        penned, old = grading.cocks_penned, grading.cocks_old
        yield (
            f"Cocks in next spring's pens: {penned}. Spares to keep beside them: "
            f"{spares_for(penned)} at least (half as many, two or more: Russell). Fit to breed "
            f"then: {_cocks_kept(grading)} of the young ones that are kept, {old} older."
        )
    if grading.rounds and not grading.rounds[0].minimums:
        yield "No plan of next spring gives the lines what they ask for at least: left out here."
    untold = [one.bird.band for one in grading.grades if one.choice and one.worth is None]
    if untold:
        yield (
            f"What the plans lose without {_some(untold)} was not worked out in the time: "
            "--thorough does it."
        )
    if grading.undated:
        yield (
            f"Not graded, their hatching not being written down: {', '.join(grading.undated)}. "
            "Write it under hatched in birds.csv."
        )
    gone = grading.of(Verdict.LET_GO)
    if gone:
        goes = "Know where it goes" if len(gone) == 1 else "Know where they go"
        them = "it" if len(gone) == 1 else "them"
        yield f"To let go: {_by_sex(gone)}. {goes} {PARTING.format(them)}"


def _some(bands: Sequence[str]) -> str:
    return listed(bands) if len(bands) <= MOST_NAMED else f"{len(bands)} of these birds"


def _cocks_kept(grading: Grading) -> int:
    return sum(one.bird.sex is Sex.COCK and one.best.fit for one in grading.of(Verdict.KEEP))


def _by_sex(grades: Sequence[Grade]) -> str:
    names = {Sex.COCK: "cock", Sex.HEN: "hen", None: "of unknown sex"}
    parts = []
    for sex, name in names.items():
        number = sum(one.bird.sex is sex for one in grades)
        if number:
            plural = "s" if sex and number > 1 else ""
            parts.append(f"{number} {name}{plural}")
    return listed(parts)


def assumed_texts(grading: Grading) -> Iterator[str]:
    """What was taken for granted of the day and the spring."""
    spring = grading.spring
    if spring.moved:
        yield (
            f"next spring taken as this season's is set in matchmaker.toml, its pens made up on "
            f"{whole_day(spring.pen_up)}; wishes to use, rest or put together are not carried over"
        )
    if grading.eve.looks_back:
        yield (
            f"what is dated after {whole_day(grading.day)} is left out; words without a date count "
            "as known where the bird was old enough to show it (sex: 8 weeks), defects always"
        )
    yield (
        f"birds kept for each in a pen: {grading.factor:g}, half of them young at least (common "
        "practice)"
    )
    yield "wishes for pens and the kinship of the parents as a group play no part in grading"
