"""Evidence and test chicks in words."""

from __future__ import annotations

from dataclasses import replace

from matchmaker.genetics.genotypes.account import Account, Record, Step
from matchmaker.genetics.genotypes.observed import ChickCount, Evidence, Place, Sighting
from matchmaker.genetics.genotypes.progeny import Obstacle, Question, progeny_tests
from matchmaker.genetics.genotypes.relatives import Kin
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.report.evidence import Names, progeny_sentences, step_text
from matchmaker.tables.records import Sex

FREE, CARRIER = (1.0, 0.0, 0.0), (0.0, 1.0, 1.0)
FOUND = Account(bird="X", symbol="O", start=FREE, steps=())
NAMES = Names(
    own="his",
    relation=lambda band: {"D": "dam"}.get(band, ""),
    loci={"O": "blue eggshell", "P": "pea comb"},
    files={"seen.csv": "looks.xlsx"},
)


def seen(bird: str, words: str, row: int = 2, file: str = "seen.csv") -> Evidence:
    place = Place(file=file, row=row, column="what", words=words)
    return Sighting(bird=bird, weights=(CARRIER, CARRIER), place=place)


def text(kin: Kin, *evidence: Evidence, symbol: str = "O") -> str:
    records = tuple(Record(symbol=symbol, evidence=one) for one in evidence)
    step = Step(kin=kin, records=records, before=FREE, after=FREE)
    return step_text(step, FOUND, NAMES)


def test_its_own_record() -> None:
    assert text(Kin.OWN, seen("X", "blue")) == "his own record: blue (looks.xlsx row 2)"


def test_one_relative_is_called_by_what_it_is() -> None:
    assert text(Kin.PARENT, seen("D", "blue")) == "dam D: blue (looks.xlsx row 2)"


def test_one_without_a_short_word_is_called_by_its_kin() -> None:
    assert text(Kin.CHICK, seen("K", "blue")) == "chick K: blue (looks.xlsx row 2)"


def test_few_are_named_and_many_counted() -> None:
    few = [seen(f"K{row}", "blue", row) for row in (2, 3)]
    many = [seen(f"K{row}", "blue", row) for row in range(2, 8)]
    assert text(Kin.CHICK, *few) == "chicks K2, K3: blue (looks.xlsx rows 2, 3)"
    assert text(Kin.CHICK, *many) == "6 chicks: blue (looks.xlsx rows 2, 3, 4 and 3 more)"


def test_a_linked_locus_is_named() -> None:
    words = text(Kin.OWN, seen("X", "pea"), symbol="P")
    assert words == "his own record, pea comb: pea (looks.xlsx row 2)"


def test_a_count_names_both_parents() -> None:
    place = Place(file="birds.csv", row=9, column="what", words="3 not blue")
    count = ChickCount(hen="H", cock="X", classes=(), place=place)
    assert text(Kin.CHICK, count) == "chicks of H × X: 3 not blue (birds.csv row 9)"


def test_records_of_different_words_are_counted_together() -> None:
    both = [seen("A", "blue"), seen("B", "white", file="birds.csv")]
    assert text(Kin.OTHER, *both) == "2 more records (birds.csv, looks.xlsx)"


def sentences(
    symbol: str, prior: tuple[float, ...], sex: Sex, question: Question, *, more: bool = False
) -> tuple[str, ...]:
    locus = catalogue()[symbol]
    best = progeny_tests(prior, locus, sex, question)[0]
    return progeny_sentences(best, locus, sex, more=more)


def test_daughters_show_blue() -> None:
    first, second = sentences("O", (0.5, 0.5, 0.0), Sex.COCK, Question.FREE)
    assert first == (
        "5 daughters by a hen with no copy, none showing blue eggshell, would show with 95 % that "
        "he does not carry blue eggshell (7 for 99 %); they can be judged at 180 days of age."
    )
    assert second == "One daughter that shows it proves that he does carry it."


def test_chicks_counted_before_leave_fewer_to_come() -> None:
    first, _ = sentences("O", (0.9, 0.1, 0.0), Sex.COCK, Question.FREE, more=True)
    assert first.startswith("2 more daughters by a hen")


def test_breeding_true_is_another_question() -> None:
    first, second = sentences("P", (0.0, 2 / 3, 1 / 3), Sex.HEN, Question.BREEDS_TRUE)
    assert first.startswith(
        "6 chicks by a cock with no copy, all showing pea comb, would show with"
    )
    assert "that she breeds true for pea comb (8 for 99 %)" in first
    assert second == "One chick that does not show it proves that she does not."


def test_a_recessive_needs_a_mate_that_shows_it() -> None:
    first, second = sentences("lav", (0.5, 0.5, 0.0), Sex.COCK, Question.FREE)
    assert "by a hen with two copies, none showing lavender, would show" in first
    assert second == "One chick that shows it proves that he does carry it."


def test_what_no_chick_can_prove_says_why() -> None:
    comb = catalogue()["P"]
    best = progeny_tests((0.5, 0.5, 0.0), comb, Sex.COCK, Question.FREE)[0]
    hopeless = replace(best, obstacle=Obstacle.HIDDEN)
    (only,) = progeny_sentences(hopeless, comb, Sex.COCK, more=False)
    assert only == (
        "No number of chicks can show that he does not carry pea comb: they look alike whatever "
        "the bird carries."
    )
