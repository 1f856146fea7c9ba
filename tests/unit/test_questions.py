"""The five questions, without a terminal: what options say and what they refuse."""

from __future__ import annotations

import io

import pytest

from matchmaker.cli.options import refuse_beside
from matchmaker.cli.questions import ask_answers
from matchmaker.errors import UsageError

GIVEN = {
    "breed": "sussex",
    "trait": "O",
    "copies": 2,
    "lines": "North, South,, North",
    "dates": "iso",
}


def test_options_answer_everything() -> None:
    answers = ask_answers(GIVEN)
    assert (answers.breed, answers.locus, answers.copies) == ("sussex", "O", 2)
    assert answers.dates == "iso"


def test_lines_are_named_once_and_never_empty() -> None:
    assert ask_answers(GIVEN).lines == ("North", "South")


@pytest.mark.parametrize("copies", [0, 1])
def test_no_copies_is_an_answer_and_not_a_gap(copies: int) -> None:
    assert ask_answers({**GIVEN, "copies": copies}).copies == copies


@pytest.mark.parametrize("missing", ["breed", "trait", "lines", "dates", "copies"])
def test_what_is_missing_is_named_where_nobody_can_be_asked(
    monkeypatch: pytest.MonkeyPatch, missing: str
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO())
    empty = None if missing == "copies" else ""
    with pytest.raises(UsageError, match=f"give --{missing}, or --like"):
        ask_answers({**GIVEN, missing: empty})


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("copies", 3, "copies are 0, 1 or 2"),
        ("dates", "american", "--dates is one of"),
        ("trait", "qqqq", "no locus is known"),
    ],
)
def test_answers_without_sense_are_refused(option: str, value: object, said: str) -> None:
    with pytest.raises(UsageError, match=said):
        ask_answers({**GIVEN, option: value})


def test_a_harmful_double_dose_is_warned_of(capsys: pytest.CaptureFixture[str]) -> None:
    ask_answers({**GIVEN, "trait": "Cp"})
    said = capsys.readouterr().err
    assert "2 copies of Cp" in said
    assert "veterinarian" in said


def test_a_harmless_dose_is_not_warned_of(capsys: pytest.CaptureFixture[str]) -> None:
    ask_answers(GIVEN)
    assert "Caution" not in capsys.readouterr().err


@pytest.mark.parametrize("words", ["O", "Blue eggshell"])
def test_a_symbol_or_a_name_chooses_the_locus(words: str) -> None:
    assert ask_answers({**GIVEN, "trait": words}).locus == "O"


def test_words_that_fit_several_loci_are_not_guessed_at() -> None:
    with pytest.raises(UsageError, match=r"may mean several loci; give the symbol of one: .*\("):
        ask_answers({**GIVEN, "trait": "blue"})


def test_options_without_effect_are_refused_by_name() -> None:
    with pytest.raises(UsageError, match="--score takes no --write or --csv beside it"):
        refuse_beside("--score", {"--write": True, "--fresh": False, "--csv": "x"})
    refuse_beside("--score", {"--write": False, "--csv": None})
