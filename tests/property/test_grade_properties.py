"""Laws of grading on the shipped flocks: on any day, in any order of rows."""

from __future__ import annotations

import datetime as dt
import random
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.grade.choosing import Ground
from matchmaker.grade.unseen import Kind
from matchmaker.grade.verdicts import Verdict, Why
from matchmaker.tables.records import Sex
from tests.cli.run import example
from tests.grade_flocks import verdicts

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.grade.grading import Grading

DAYS = {
    "skarn-farm": ("2026-04-12", "2026-10-01"),
    "tarn-croft": ("2026-04-20", "2027-02-01"),
}
HURRY = 0.0
"""Seconds for what birds are worth: no verdict hangs on it."""


@pytest.fixture(scope="module", params=sorted(DAYS))
def gradings(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> list[Grading]:
    name: str = request.param
    table = verbs.pairs(example(name, tmp_path_factory.mktemp("grade") / name))
    days = map(dt.date.fromisoformat, DAYS[name])
    return [verbs.grade(table, day, patience=HURRY) for day in days]


def test_each_young_bird_has_one_verdict(gradings: list[Grading]) -> None:
    for grading in gradings:
        bands = [one.bird.band for one in grading.grades]
        assert bands == sorted(set(bands))
        assert sum(len(grading.of(verdict)) for verdict in Verdict) == len(bands)
        for one in grading.grades:
            assert one.age >= 0
            if one.verdict is Verdict.LET_GO:
                assert one.ruling.ground is None
                assert one.ruling.why is not None


def test_a_bird_whose_chicks_cannot_be_wanted_is_never_kept_on_merit(
    gradings: list[Grading],
) -> None:
    for grading in gradings:
        for one in grading.of(Verdict.KEEP):
            if one.ruling.ground is not Ground.WISH and one.ruling.why is not Why.REST:
                assert one.best.fit
                assert ((one.best.best and one.best.best.wanted_chance) or 0) > 0
        for one in grading.of(Verdict.LET_GO):
            if one.ruling.why is Why.RULED_OUT:
                assert not any(prospect.fit for prospect in one.prospects)
                assert one.ruling.broken


def test_no_family_with_a_bird_fit_to_breed_is_lost(gradings: list[Grading]) -> None:
    for grading in gradings:
        fit = {
            (one.bird.line, one.family)
            for one in grading.grades
            if one.bird.sex is not None and one.best.fit
        }
        stay = {
            (one.bird.line, one.family)
            for one in grading.grades
            if one.verdict is not Verdict.LET_GO
        }
        assert fit <= stay


def test_places_are_filled_while_there_are_birds(gradings: list[Grading]) -> None:
    for grading in gradings:
        for (line, sex), places in grading.places.items():
            own = [one for one in grading.grades if one.bird.line == line and one.bird.sex is sex]
            fit = [one for one in own if one.best.fit]
            stay = sum(one.best.chance for one in fit if one.ruling.ground is not None)
            assert stay >= min(places.young, sum(one.best.chance for one in fit)) - 1e-9
            assert places.wanted >= grading.factor * places.penned - 1
            if sex is Sex.COCK:
                assert places.wanted >= 2


def test_every_first_choice_stays(gradings: list[Grading]) -> None:
    for grading in gradings:
        first = [one for one in grading.grades if one.choice == 1]
        assert all(one.verdict is not Verdict.LET_GO for one in first)
        assert {one.bird.band for one in first} == set(grading.rounds[0].chosen)


def test_who_waits_waits_for_something(gradings: list[Grading]) -> None:
    for grading in gradings:
        for one in grading.of(Verdict.WAIT):
            kinds = {unseen.kind for unseen in one.unseen}
            if one.ruling.why is Why.UNSEEN:
                assert kinds - {Kind.SCORES}
            elif one.ruling.why is Why.SCORES:
                assert Kind.SCORES in kinds
            for unseen in one.unseen:
                assert unseen.since is None or unseen.since > grading.day


def test_a_later_day_never_makes_what_was_seen_unseen(gradings: list[Grading]) -> None:
    """What has been seen by its age stays seen: what is open later was open, or was to come."""
    for before, after in pairwise(gradings):
        early = {one.bird.band: one for one in before.grades}
        for one in after.grades:
            if one.bird.band not in early:
                continue
            was = {(unseen.kind, unseen.names) for unseen in early[one.bird.band].unseen}
            waited = {names for kind, names in was if kind is Kind.LOOK}
            for unseen in one.unseen:
                if unseen.kind is Kind.LOOK:
                    assert unseen.names in waited
                if unseen.kind is Kind.SEX:
                    assert (Kind.SEX, ()) in was


@pytest.mark.parametrize("name", ["tarn-croft", "skarn-farm"])
def test_the_order_of_rows_does_not_matter(tmp_path: Path, name: str) -> None:
    plain, mixed = example(name, tmp_path / "plain"), example(name, tmp_path / "mixed")
    for file in ("birds", "seen", "scores", "pens"):
        path = mixed / f"{file}.csv"
        header, *rows = path.read_text(encoding="utf-8").splitlines(keepends=True)
        random.Random(7).shuffle(rows)  # noqa: S311  any order will do
        path.write_text("".join((header, *rows)), encoding="utf-8")
    day = dt.date.fromisoformat(DAYS[name][1])
    first, second = (verbs.grade(folder, day, patience=HURRY) for folder in (plain, mixed))
    assert verdicts(first) == verdicts(second)
    assert [one.ruling for one in first.grades] == [one.ruling for one in second.grades]
    assert [one.choice for one in first.grades] == [one.choice for one in second.grades]
