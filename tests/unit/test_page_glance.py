"""What the page says at a glance, of the best plan and of other pens that stand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from matchmaker.report.own_changes_words import own_changes_table
from matchmaker.report.page.chart_inbreeding import inbreeding_picture
from matchmaker.report.page.chart_lines import lines_picture
from matchmaker.report.page.glance import glance_view
from matchmaker.report.page.kin_pictures import living, overview
from matchmaker.report.precautions import spare_sentences
from matchmaker.reporting import SeasonReport, season_report
from matchmaker.season.own_changes import OwnChanges
from matchmaker.season.standing import Source
from tests.builders import cock, hen, write_flock
from tests.page.flocks import one_pen, succession
from tests.season_flocks import small_flock

if TYPE_CHECKING:
    from pathlib import Path


def report_of(folder: Path) -> SeasonReport:
    return season_report(verbs.pairs(folder))


@pytest.fixture(scope="module")
def followed(tmp_path_factory: pytest.TempPathFactory) -> SeasonReport:
    """By the moves a second cock follows in one pen: not what the best plan has."""
    return report_of(succession(tmp_path_factory.mktemp("followed")))


def test_numbers_of_the_best_plan_are_said_to_be_so_where_others_stand(
    followed: SeasonReport, tmp_path: Path
) -> None:
    values: dict[str, Any] = dict(glance_view(followed).values)
    assert "those of the best plan" in values["differs"]
    assert values["costs"][1].startswith("From the pens that stand: ")
    values = dict(glance_view(report_of(small_flock(tmp_path, plan=[]))).values)
    assert values["differs"] == ""
    assert "stand" not in values["costs"][1]


def test_losses_that_were_not_worked_out_are_not_told_as_none(followed: SeasonReport) -> None:
    care = followed.care
    cocks = tuple(one.cock for one in care.losses)
    told = " ".join(spare_sentences(followed.plan, replace(care, losses=(), left_out=cocks)))
    assert "on average" not in told
    assert "would help" not in told
    assert "Not worked out, for want of time: SC and SD." in told
    part = replace(care, losses=care.losses[:1], left_out=cocks[1:])
    told = " ".join(spare_sentences(followed.plan, part))
    assert f"on average, the loss of {cocks[0]} alone counted" in told


def test_one_of_a_thing_is_said_in_the_singular(tmp_path: Path) -> None:
    report = report_of(one_pen(tmp_path))
    figures = glance_view(report).values["figures"]
    assert figures[0] == ("1", "pen with 2 hens and 1 cock")
    drawings = lines_picture(report.plan).drawings
    assert "Pure 2 hens and 1 cock" in drawings[1]
    assert "1 cocks" not in drawings[1]
    rows = [row for one in inbreeding_picture(report.plan).tables for row in one.rows]
    assert {row[3] for row in rows} == {"3 birds", "2 pairs"}
    found = overview(report)
    assert found is not None
    assert "the 1 pair" not in " ".join(found.sentences)


def test_nobody_is_called_nearest_of_two_or_kin_of_none(tmp_path: Path) -> None:
    report = report_of(small_flock(tmp_path))
    found = living(report)
    assert found is not None
    said = " ".join(found.sentences)
    assert "nearest" not in said
    assert "Alder and Pure have 0 on average with each other." in said
    assert [one.caption for one in found.tables if one.caption == "The closest relatives"] == []


def test_lines_equally_far_from_each_other_are_not_ranked(tmp_path: Path) -> None:
    birds = [
        *(cock(f"{line}C", line) for line in ("A", "B", "D")),
        *(hen(f"{line}H", line) for line in ("A", "B", "D")),
    ]
    found = living(report_of(write_flock(tmp_path, birds, pens=[{"pen": "1", "hens_max": "4"}])))
    assert found is not None
    said = " ".join(found.sentences)
    assert "nearest" not in said
    assert "most closely related among themselves" not in said


def test_a_hen_with_two_cocks_in_the_best_plan_is_told_with_both(followed: SeasonReport) -> None:
    pair = followed.plan.pens[0].pairs[0]
    changed = OwnChanges(
        source=Source.MOVES,
        value=1.0,
        best_value=2.0,
        rejected=(),
        broken=(),
        only_standing=(),
        only_best=(pair, replace(pair, cock="ZZ")),
    )
    rows = own_changes_table(changed, None).rows
    assert [row[2] for row in rows] == [pair.cock, "ZZ"]
