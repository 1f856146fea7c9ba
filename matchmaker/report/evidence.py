"""Evidence in words: whose record it is, what it says and where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.genotypes.observed import ChickCount, birds_of
from matchmaker.genetics.genotypes.progeny import LEVELS, ProgenyTest, Question
from matchmaker.genetics.genotypes.relatives import Kin
from matchmaker.report.locus_sentences import plain_name
from matchmaker.report.numbers import percent
from matchmaker.report.testing_words import OBSTACLES, contrary_text, look_text, mate_text
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from matchmaker.genetics.genotypes.account import Account, Record, Step
    from matchmaker.genetics.loci.locus import Locus

MANY = 3
"""More birds than this are counted, not listed."""

KIN: Final[Mapping[Kin, tuple[str, str]]] = {
    Kin.PARENT: ("parent", "parents"),
    Kin.ANCESTOR: ("forebear", "forebears"),
    Kin.CHICK: ("chick", "chicks"),
    Kin.MATE: ("mate", "mates"),
    Kin.SIB: ("sib", "sibs"),
    Kin.DESCENDANT: ("grand-chick", "grand-chicks"),
    Kin.OTHER: ("other", "others"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """How the birds and loci around one bird are called: "his", "dam's sire", "Pea comb"."""

    own: str
    relation: Callable[[str], str]
    loci: Mapping[str, str]
    files: Mapping[str, str]
    """The keeper's files by the usual names of their tables ("seen.csv")."""


def step_text(step: Step, found: Account, names: Names) -> str:
    """What a step adds: whose records, what they say, and where they stand."""
    said = {(record.symbol, record.evidence.place.words) for record in step.records}
    if len(said) > 1:
        files = sorted({_file(record, names) for record in step.records})
        return f"{len(step.records)} more records ({', '.join(files)})"
    ((symbol, words),) = said
    of = "" if symbol == found.symbol else f", {names.loci[symbol]}"
    return f"{_whose(step, names)}{of}: {words} ({_places(step.records, names)})"


def _whose(step: Step, names: Names) -> str:
    first = step.records[0].evidence
    if isinstance(first, ChickCount):
        return f"chicks of {possible(first.hen)} × {possible(first.cock)}"
    if step.kin is Kin.OWN:
        return f"{names.own} own record"
    bands = list(dict.fromkeys(band for one in step.records for band in birds_of(one.evidence)))
    one, many = KIN[step.kin]
    if len(bands) == 1:
        return f"{names.relation(bands[0]) or one} {bands[0]}"
    return f"{len(bands)} {many}" if len(bands) > MANY else f"{many} {', '.join(bands)}"


def possible(cell: str) -> str:
    """Possible parents as one says them.

    >>> possible("H1|H2"), possible("H1")
    ('H1 or H2', 'H1')
    """
    return " or ".join(cell.split("|"))


def _places(records: Iterable[Record], names: Names) -> str:
    """File and rows, the rows of one file together."""
    rows: dict[str, list[int]] = {}
    for record in records:
        rows.setdefault(_file(record, names), []).append(record.evidence.place.row)
    return "; ".join(
        f"{file} row{'' if len(found) == 1 else 's'} {_rows(found)}" for file, found in rows.items()
    )


def _file(record: Record, names: Names) -> str:
    file = record.evidence.place.file
    return names.files.get(file, file)


def _rows(rows: list[int]) -> str:
    ordered = sorted(dict.fromkeys(rows))
    more = f" and {len(ordered) - MANY} more" if len(ordered) > MANY else ""
    return ", ".join(map(str, ordered[:MANY])) + more


def progeny_sentences(test: ProgenyTest, locus: Locus, sex: Sex, *, more: bool) -> tuple[str, ...]:
    """How many test chicks would settle one question about a bird, by the best mate there is.

    With ``more`` some chicks of its have been counted already.
    """
    he = "he" if sex is Sex.COCK else "she"
    what = _CLAIMS[test.question].format(locus=plain_name(locus))
    if test.obstacle is not None:
        return (f"No number of chicks can show that {he} {what}: {OBSTACLES[test.obstacle]}.",)
    fewer, higher = (test.chicks(level) for level in LEVELS)
    chicks = f"{fewer} {'more ' if more else ''}{_chicks(test.judged, fewer or 0)}"
    surer = f" ({higher} for {percent(LEVELS[1])})" if higher is not None else ""
    first = (
        f"{chicks} by a {mate_text(test)}, {look_text(test, locus)}, would show with "
        f"{percent(LEVELS[0])} that "
        f"{he} {what}{surer}; they can be judged {_days(test.days)}."
    )
    if not test.decisive:
        return (first,)
    return (
        first,
        f"{contrary_text(test, locus).capitalize()} proves that {he} {_DENIED[test.question]}.",
    )


_CLAIMS: Final[Mapping[Question, str]] = {
    Question.FREE: "does not carry {locus}",
    Question.BREEDS_TRUE: "breeds true for {locus}",
}
_DENIED: Final[Mapping[Question, str]] = {
    Question.FREE: "does carry it",
    Question.BREEDS_TRUE: "does not",
}


def _chicks(judged: Sex | None, number: int) -> str:
    one = {Sex.HEN: "daughter", Sex.COCK: "son"}[judged] if judged else "chick"
    return one if number == 1 else f"{one}s"


def _days(days: int) -> str:
    return "at hatch" if days <= 1 else f"at {days} days of age"
