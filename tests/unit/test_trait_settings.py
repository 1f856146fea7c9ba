"""Settings of traits and of their correlations: what is read, what is refused and where."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.tables.configuration import read_configuration
from tests.builders import checked, cock, hen, of_kind, where

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.errors import Fault
    from matchmaker.settings import Settings

TOP = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}\n'
SCORES = [{"bird": "H", "eggs": "50", "weight": "2.5"}]


def settings(text: str) -> Settings:
    found = read_configuration((TOP + text).encode())
    assert found.faults == ()
    assert found.settings is not None
    return found.settings


def refused(text: str) -> list[tuple[str, int | None, str | None, str]]:
    return [where(fault) for fault in read_configuration((TOP + text).encode()).faults]


def faults(path: Path, text: str, kind: str) -> list[Fault]:
    """Return the faults of one kind in a folder with scores of eggs and weight."""
    return of_kind(checked(path, [cock("C"), hen("H")], text, scores=SCORES).faults, kind)


def test_heritability_is_a_number_or_left_to_the_scores() -> None:
    read = settings('[traits.a]\nh2 = 0.25\n[traits.b]\nh2 = "estimate"\n[traits.c]\nh2 = 1\n')
    assert [read.traits[name].h2 for name in "abc"] == [0.25, "estimate", 1.0]


def test_depression_and_likeness() -> None:
    trait = settings('[traits.a]\ndepression = -1.8\nlike = "egg number"\n').traits["a"]
    assert (trait.depression, trait.like) == (-1.8, "egg number")


@pytest.mark.parametrize(
    ("line", "place"),
    [
        ("h2 = 1.2", ("h2", "1.2")),
        ('h2 = "guess"', ("h2", "guess")),
        ("h2 = -0.1", ("h2", "-0.1")),
        ('depression = "x"', ("depression", "x")),
        ("depression = nan", ("depression", "nan")),
        ('like = ""', ("like", "")),
        ("like = 3", ("like", "3")),
    ],
)
def test_values_refused(line: str, place: tuple[str, str]) -> None:
    key, value = place
    assert refused(f"[traits.a]\n{line}\n") == [("matchmaker.toml", 5, f"traits.a.{key}", value)]


def test_what_may_stand_for_the_heritability_is_said() -> None:
    (fault,) = read_configuration((TOP + '[traits.a]\nh2 = "guess"\n').encode()).faults
    assert fault.mend == 'write a number with a decimal point, or write "estimate"'


def test_correlations_are_read() -> None:
    read = settings('[[correlations]]\ntraits = ["eggs", "weight"]\ngenetic = -0.3\n')
    assert [(one.traits, one.genetic) for one in read.correlations] == [(("eggs", "weight"), -0.3)]
    assert settings("").correlations == ()


@pytest.mark.parametrize(
    ("line", "place"),
    [
        ('traits = ["a"]\ngenetic = 0.2', (5, "traits", "a")),
        ('traits = ["a", "a"]\ngenetic = 0.2', (5, "traits", "a, a")),
        ('traits = ["a", "b", "c"]\ngenetic = 0.2', (5, "traits", "a, b, c")),
        ('traits = "ab"\ngenetic = 0.2', (5, "traits", "ab")),
        ('traits = ["a", "b"]\ngenetic = 1.2', (6, "genetic", "1.2")),
        ('traits = ["a", "b"]\ngenetic = -2', (6, "genetic", "-2")),
        ('traits = ["a", "b"]', (4, "genetic", "")),
        ('traits = ["a", "b"]\ngenetic = 0.1\nphenotypic = 0.2', (7, "phenotypic", "0.2")),
    ],
)
def test_correlations_refused(line: str, place: tuple[int, str, str]) -> None:
    row, key, value = place
    expected = [("matchmaker.toml", row, f"correlations, entry 1, {key}", value)]
    assert refused(f"[[correlations]]\n{line}\n") == expected


def correlation(first: str, second: str, genetic: str = "0.2") -> str:
    return f'[[correlations]]\ntraits = ["{first}", "{second}"]\ngenetic = {genetic}\n'


def test_a_correlation_of_an_unknown_trait(tmp_path: Path) -> None:
    (fault,) = faults(tmp_path, correlation("eggs", "wieght"), "unknown-trait")
    assert where(fault) == ("matchmaker.toml", 5, "correlations, entry 1, traits", "wieght")
    assert "did you mean weight?" in fault.mend


def test_a_trait_with_scores_or_settings_is_known(tmp_path: Path) -> None:
    text = correlation("eggs", "weight") + correlation("eggs", "comb") + "[traits.comb]\nh2 = 0.3\n"
    assert faults(tmp_path, text, "unknown-trait") == []


def test_each_pair_of_traits_once(tmp_path: Path) -> None:
    twice = correlation("eggs", "weight") + correlation("weight", "eggs")
    (fault,) = faults(tmp_path, twice, "repeated-setting")
    assert where(fault) == ("matchmaker.toml", 8, "correlations, entry 2, traits", "weight, eggs")
    assert "line 4" in fault.problem


def test_two_aims_at_once() -> None:
    (fault,) = read_configuration(
        (TOP + '[traits.a]\ndirection = "up"\noptimum = 58\n').encode()
    ).faults
    assert where(fault) == ("matchmaker.toml", 6, "traits.a.optimum", "58")
    assert fault.mend == "delete one of the two lines"


@pytest.mark.parametrize(
    ("lines", "value"),
    [
        ("weight = 0.3", "0.3"),
        ('weight = "must improve"', "must improve"),
        ("weight = 0.3\nfloor = 40", "0.3"),
    ],
)
def test_what_counts_has_a_way(lines: str, value: str) -> None:
    (fault,) = read_configuration((TOP + f"[traits.a]\n{lines}\n").encode()).faults
    assert where(fault) == ("matchmaker.toml", 5, "traits.a.weight", value)
    assert fault.mend == 'write direction = "up" or "down", or an optimum, beside it'


@pytest.mark.parametrize(
    "lines",
    ["floor = 40", "weight = 0", 'weight = "ignore"', 'weight = "must not fall"', "h2 = 0.3"],
)
def test_what_need_not_have_a_way(lines: str) -> None:
    assert refused(f"[traits.a]\n{lines}\n") == []


@pytest.mark.parametrize(
    ("line", "problem", "mend"),
    [
        (
            "h2 = 30",
            "the value must be at most 1.0",
            "write a value that is at most 1.0: 30 % is written 0.3",
        ),
        (
            "repeatability = 1.5",
            "the value must be at most 1.0",
            "write a value that is at most 1.0: 30 % is written 0.3",
        ),
        (
            'direction = "up"\nweight = -0.1',
            "the value must be at least 0.0",
            'write a value that is at least 0.0: direction = "down" lets it fall',
        ),
        ("h2 = -0.1", "the value must be at least 0.0", "write a value that is at least 0.0"),
    ],
)
def test_what_is_likely_meant_is_said(line: str, problem: str, mend: str) -> None:
    (fault,) = read_configuration((TOP + f"[traits.a]\n{line}\n").encode()).faults
    assert (fault.problem, fault.mend) == (problem, mend)


def test_no_refusal_shows_brackets_of_another_language() -> None:
    (fault,) = read_configuration((TOP + "dates = {order = [1, 2]}\n").encode()).faults
    assert fault.value == "order = 1, 2"


def doubts(path: Path, text: str, kind: str, header: str = "eggs") -> list[Fault]:
    """Return the doubts of one kind in a folder with one column of scores."""
    rows = [{"bird": "H", header: "50"}]
    return of_kind(checked(path, [cock("C"), hen("H")], text, scores=rows).doubts, kind)


AIM = 'direction = "up"\n'


def test_a_longer_name_of_the_same_trait_is_found(tmp_path: Path) -> None:
    (doubt,) = doubts(tmp_path, f"[traits.eggs]\n{AIM}", "idle-setting", "Eggs in 12 weeks")
    assert doubt.mend == "did you mean Eggs in 12 weeks? Otherwise add a column eggs to the scores"
    (doubt,) = doubts(tmp_path, f"[traits.eggs]\n{AIM}", "trait-without-aim", "Eggs in 12 weeks")
    assert doubt.mend == (
        'did you mean eggs? Otherwise write [traits."Eggs in 12 weeks"] with direction = "up" or '
        '"down"'
    )


def test_a_trait_with_scores_of_its_own_is_not_meant(tmp_path: Path) -> None:
    text = f"[traits.eggs]\n{AIM}[traits.egg]\n{AIM}"
    (doubt,) = doubts(tmp_path, text, "idle-setting", "eggs")
    assert (doubt.value, doubt.mend) == ("egg", "add a column egg to the scores")


@pytest.mark.parametrize("text", ["", f"[traits.eggs]\n{AIM}"])
def test_a_column_without_a_score_is_no_trait(tmp_path: Path, text: str) -> None:
    rows = [{"bird": "H", "eggs": "", "weight": "2.5"}]
    found = checked(tmp_path, [cock("C"), hen("H")], text, scores=rows)
    assert found.tables.traits == ("weight",)
    assert [doubt.column for doubt in found.doubts if "eggs" in (doubt.column or "")] == []
    assert found.faults == ()


def test_headings_to_write_can_be_read(tmp_path: Path) -> None:
    text = '[[correlations]]\ntraits = ["eggs", "comb at 1"]\ngenetic = 0.1\n'
    (fault,) = faults(tmp_path, text, "unknown-trait")
    assert fault.mend == 'write [traits."comb at 1"], or take it out here'
