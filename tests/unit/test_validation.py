"""The validation page in its quick form, and that a wrong figure of the engine makes it fail."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from matchmaker.genetics.shares.share import recurrent_shares
from tests.validation import __main__ as command
from tests.validation import kin, shares
from tests.validation.checks import QUICK, Near, Origin, Report, Section, Standing
from tests.validation.page import page_html
from tests.validation.running import SECTIONS, validate

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(scope="module")
def report() -> Report:
    return validate(QUICK, told=lambda _: None)


def test_every_check_of_every_section_is_within_its_tolerance(report: Report) -> None:
    assert [section.key for section in report.sections] == list(SECTIONS)
    assert all(section.checks and section.figures for section in report.sections)
    assert not report.failed


def test_the_page_stands_alone_and_says_what_it_shows(report: Report) -> None:
    page = page_html(report)
    assert f"All {len(report.checks)} checks are within their tolerance" in page
    assert not re.search(
        r"<script|<link(?! rel=\"icon\" href=\"data:)|https?://(?!www\.w3\.org/)", page
    )
    assert page.count("<figure") == sum(len(section.figures) for section in report.sections)
    for section in report.sections:
        for one in section.figures:
            assert f'<desc id="picture-{one.plot.key}-desc">' in page  # in place of the drawing
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'href="#([^"]+)"', page)) <= set(ids)


def test_a_page_is_the_same_when_it_is_made_again() -> None:
    assert shares.section(QUICK) == shares.section(QUICK)


def test_a_wrong_share_of_the_engine_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    right = recurrent_shares

    def wrong(*asked: object) -> dict[str, float]:
        return {bird: share + 1e-9 for bird, share in right(*asked).items()}  # type: ignore[arg-type]

    monkeypatch.setattr(shares, "recurrent_shares", wrong)
    (failed,) = shares.section(QUICK).failed
    assert failed.what.startswith("expected share from the first cross")


def test_the_command_ends_with_one_and_marks_what_failed(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(kin, "inbreeding", lambda rows: {row[0]: 0.5 for row in rows})
    monkeypatch.setattr("tests.validation.running.SECTIONS", ("kin",))
    file = tmp_path / "page.html"
    assert command.main(["--quick", "-o", str(file)]) == 1
    said = capsys.readouterr()
    assert "FAILED inbreeding of animal 5: ours 0.5, outside 0.125" in said.err
    assert "FAILED" in said.out.splitlines()[0]
    page = file.read_text(encoding="utf-8")
    assert 'class="failed"' in page
    assert "checks failed" in page


def test_what_is_no_number_is_not_within_a_tolerance() -> None:
    origin = Origin(source="published/test_lange_2003.py", standing=Standing.READ)
    found = origin.check("x", [1.0, float("nan")], [1.0, 1.0], tolerance=9.0, near=Near.SIZE)
    assert not found.within
    section = Section(key="k", title="T", about="", checks=(found,))
    assert command.line(section) == "T: 1 check of 2 figures, 1 FAILED"
