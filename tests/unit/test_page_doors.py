"""What the pen sheets say: the same as the commands, for plans, written pens and moves."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from typing import TYPE_CHECKING, Any

import pytest

from matchmaker import verbs
from matchmaker.report.page.door_cautions import cautions
from matchmaker.report.page.door_stays import breeding_pens, occupancy
from matchmaker.report.page.doors import doors_view, of_pen
from matchmaker.report.page.page import environment
from matchmaker.report.precautions import loss_box
from matchmaker.report.season_document import season_document
from matchmaker.reporting import season_report
from tests.builders import cock, hen, write_flock
from tests.builders import table as csv
from tests.season_flocks import small_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.report.page.door_sizes import Contents
    from matchmaker.reporting import SeasonReport
    from tests.builders import Row


def report_of(folder: Path) -> SeasonReport:
    return season_report(verbs.pairs(folder))


def stay(bird: str, pen: str, since: str, until: str = "") -> Row:
    return {"bird": bird, "pen": pen, "moved_in": since, "moved_out": until}


def sheet(report: SeasonReport, pen: str) -> Contents:
    """What the first page of a pen says."""
    for _, pages in doors_view(report).values["pens"]:
        found: Contents = pages[0].contents
        if found.pen == pen:
            return found
    raise AssertionError(pen)


def words(found: Contents) -> str:
    """All of its text."""
    blocks = [text for one in found.blocks for text in (one.title, *one.texts)]
    return " ".join([*found.strip, found.hens_title, *blocks, found.caution, found.footer])


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> SeasonReport:
    """The written plan of the small flock: eggs told apart in the Orchard, not in the Yard."""
    return report_of(small_flock(tmp_path_factory.mktemp("doors")))


def test_a_sheet_for_each_pen_with_its_birds(planned: SeasonReport) -> None:
    view = doors_view(planned)
    assert [tile.pen for tile in view.values["tiles"]] == ["Orchard", "Yard"]
    orchard = sheet(planned, "Orchard")
    assert [one.band for one in orchard.cocks] == ["SC"]
    assert [one.band for one in orchard.hens] == ["A1", "A2"]
    assert orchard.cocks[0].said == "Sussex 100 %, line Pure"
    assert orchard.strip[:2] == ("for Alder (backcross)", "Eggs safe from Mon 8 February")
    assert sheet(planned, "Yard").strip[0] == "for Pure (keep pure)"
    assert orchard.hens_title == "2 hens of line Alder, as on Mon 1 February"


def test_eggs_are_marked_where_hens_are_told_apart(planned: SeasonReport) -> None:
    assert sheet(planned, "Orchard").strip[2] == "Mark each egg with her band."
    assert sheet(planned, "Yard").strip[2] == "Eggs are not told apart: mark the pen."
    assert "By hen: A1 " in words(sheet(planned, "Orchard"))
    assert "By hen:" not in words(sheet(planned, "Yard"))


@pytest.mark.parametrize("pen", ["Orchard", "Yard"])
def test_numbers_are_those_of_the_season(planned: SeasonReport, pen: str) -> None:
    document = season_document(planned.guide)
    found = sheet(planned, pen)
    (eggs,) = [one for one in found.blocks if one.title.startswith("Eggs to set")]
    told = [one["eggs_by_pen"].get(pen) for one in document["sets"]]
    assert [number for _, number in eggs.items] == [str(one) for one in told if one]
    whole = sum(one["eggs"] for one in document["eggs_to_set"] if one["pen"] == pen)
    assert eggs.title == f"Eggs to set: {whole}"
    for one in (one for one in document["chicks"] if one["pen"] == pen):
        assert f"{one['line']}: of {one['eggs']} eggs {_digits(one['hatched'])} hatch" in words(
            found
        )
        assert f"wanted are {_digits(one['wanted']['cock'])} cockerels" in words(found)
    of_hens: dict[str, int] = defaultdict(int)
    for one in document["eggs_to_set"]:
        if one["pen"] == pen and one["hen"]:
            of_hens[one["hen"]] += one["eggs"]
    told_hens = ", ".join(f"{hen} {count}" for hen, count in sorted(of_hens.items()))
    assert (f"By hen: {told_hens}." in words(found)) is (pen == "Orchard")


def _digits(number: float) -> str:
    return f"{number:.1f}" if number < 10 else f"{number:.0f}"


def test_which_chicks_are_kept_and_how_they_are_told(planned: SeasonReport) -> None:
    text = words(sheet(planned, "Orchard"))
    assert "Chicks join Alder; kept are chicks with 1 or 2 copies of O." in text
    assert (
        "O (blue eggshell): cockerels by a DNA test only, they look alike; pullets by sight at "
        "about 180 days, keep \u201cblue\u201d."
    ) in text
    assert "Alder, chicks raised: O (blue eggshell)" in text
    assert "Every chick has what is kept" in words(sheet(planned, "Yard"))


def test_sons_of_a_donor_hen_all_carry_and_stand_in_natural_order(tmp_path: Path) -> None:
    """Chocolate lies on the Z: her sons have it for certain, and no daughter does."""
    donors = [hen(f"A{at}", "Alder", "orpington", choc="1 copy") for at in (10, 2)]
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {choc = 2}\n'
    sons = (
        '[[matings]]\nname = "keep the sons"\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\n'
        'purpose = "backcross"\nkeep = {choc = 1}\nkeep_sex = "cock"\n'
    )
    stays = [stay(band, "Yard", "2027-02-01") for band in ("SC", "A10", "A2")]
    flock = write_flock(tmp_path, [cock("SC"), hen("SH"), *donors], sons, top, moves=stays)
    yard = sheet(report_of(flock), "Yard")
    assert "Every cockerel has what is kept" in words(yard)
    assert [one.band for one in yard.hens] == ["A2", "A10"]


def test_the_loss_of_the_cock_is_told_as_by_the_plan(planned: SeasonReport) -> None:
    flock = planned.table.study.flock
    box = loss_box(flock, planned.care, "SC")
    planned_hens = {p.hen for pen in planned.plan.pens if pen.cock == "SC" for p in pen.pairs}
    text = words(sheet(planned, "Orchard"))
    assert box in text
    assert ("was worked out for the best plan" in text) is (planned_hens != {"A1", "A2"})


def test_the_footer_says_where_it_comes_from(planned: SeasonReport, tmp_path: Path) -> None:
    footer = sheet(planned, "Yard").footer
    assert footer.startswith("Pen Yard · Pens for 2027 · pens by plan.csv · tables ")
    assert footer.endswith("as of 20 January 2027")
    other = sheet(report_of(small_flock(tmp_path, breed="dorking")), "Yard").footer
    assert footer.split(" · ")[3] != other.split(" · ")[3]


def test_cocks_in_succession_are_shown_as_they_stand(tmp_path: Path) -> None:
    moves = [
        stay("SC", "Orchard", "2027-02-01", "2027-03-10"),
        stay("SD", "Orchard", "2027-03-10"),
        stay("A1", "Orchard", "2027-02-01"),
        stay("A2", "Orchard", "2027-02-01", "2027-03-25"),
        stay("S1", "Orchard", "2027-04-05"),
    ]
    early = report_of(small_flock(tmp_path / "a", today="2027-02-20", moves=moves))
    found = sheet(early, "Orchard")
    assert [one.band for one in found.cocks] == ["SC"]
    assert found.cocks[0].said.endswith(", until 10 March")
    assert [one.band for one in found.hens] == ["A1", "A2"]
    assert found.hens_title.endswith("as on Sat 20 February")
    text = words(found)
    assert "SD comes on Wed 10 March." in text
    assert "S1 comes on Mon 5 April." in text
    assert "A2 leaves on Thu 25 March." in text
    assert "SD's from" in text
    assert "pens by moves.csv" in found.footer
    later = sheet(
        report_of(small_flock(tmp_path / "b", today="2027-04-10", moves=moves)), "Orchard"
    )
    assert [one.band for one in later.cocks] == ["SD"]
    assert [one.band for one in later.hens] == ["A1", "S1"]
    assert "SC left on Wed 10 March." in words(later)
    on_the_day = report_of(small_flock(tmp_path / "c", today="2027-03-10", moves=moves))
    assert [one.band for one in sheet(on_the_day, "Orchard").cocks] == ["SD"]


def test_a_bird_that_died_today_no_longer_stands(tmp_path: Path) -> None:
    moves = [stay(one, "Orchard", "2027-02-01") for one in ("SC", "A1", "A2")]
    folder = small_flock(tmp_path, today="2027-03-01", moves=moves)
    birds = (folder / "birds.csv").read_text(encoding="utf-8").splitlines()
    head = birds[0] + ",status,left_on"
    rows = [f"{row},{'dead,2027-03-01' if row.startswith('SC,') else ','}" for row in birds[1:]]
    (folder / "birds.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    found = sheet(report_of(folder), "Orchard")
    assert found.cocks == ()
    assert "SC left on Mon 1 March." in words(found)


def test_a_pen_that_is_over_shows_its_last_day(tmp_path: Path) -> None:
    moves = [stay(one, "Orchard", "2027-02-01", "2027-03-20") for one in ("SC", "A1")]
    report = report_of(small_flock(tmp_path, today="2027-06-01", moves=moves))
    place = occupancy(report.guide, "Orchard")
    assert place.day == dt.date(2027, 3, 20)
    assert [one.bird for one in place.hens] == ["A1"]


def test_pens_without_both_have_no_sheet(tmp_path: Path) -> None:
    moves = [
        stay("SC", "Orchard", "2027-02-01"),
        stay("A1", "Orchard", "2027-02-01"),
        stay("S1", "Yard", "2027-02-01"),
    ]
    report = report_of(small_flock(tmp_path, moves=moves))
    assert breeding_pens(report.guide) == ("Orchard",)


def test_a_hen_that_waits_is_told_with_her_day(tmp_path: Path) -> None:
    moves = [stay(bird, "Orchard", "2027-01-01", "2027-01-29") for bird in ("SD", "A1")]
    found = sheet(report_of(small_flock(tmp_path, moves=moves)), "Orchard")
    assert found.strip[1] == "Eggs safe from Mon 8 February"
    said = {one.band: one.said for one in found.hens}
    assert said["A1"].startswith("safe from 19 February")
    assert "safe" not in said["A2"]
    assert (
        "Eggs of A1 are surely SC's from 19 February on: A1 was with SD until 29 January, and 21 "
        "days must pass."
    ) in words(found)


def test_eggs_that_are_never_safe_are_told(tmp_path: Path) -> None:
    moves = [stay(bird, "Yard", "2027-02-01") for bird in ("SC", "SD", "A1")]
    found = sheet(report_of(small_flock(tmp_path, moves=moves)), "Yard")
    assert found.strip[1] == "No safe eggs"
    assert [one.band for one in found.cocks] == ["SC", "SD"]
    assert "No egg of A1 is surely SC's: another cock is with them all season." in words(found)
    assert "No eggs of this pen are to be set." in words(found)


def test_a_loss_worked_out_for_other_pens_says_so(tmp_path: Path) -> None:
    folder = small_flock(tmp_path, plan=[])
    plan = verbs.plan(folder)
    rows: list[Row] = [
        {"pen": pen.pen, "line": pair.line or "", "cock": pen.cock, "hen": pair.hen}
        for pen in plan.pens
        for pair in pen.pairs
    ]
    kept, left = plan.pens[0].pen, rows[-1]
    assert left["pen"] != kept
    (folder / "plan.csv").write_text(csv(rows[:-1]), encoding="utf-8")
    report = report_of(folder)
    assert not report.stands_as_planned
    said = words(sheet(report, kept))
    assert "worked out for the best plan, which has other pairs elsewhere." in said
    (folder / "plan.csv").write_text(csv(rows), encoding="utf-8")
    report = report_of(folder)
    assert report.stands_as_planned
    assert "worked out for the best plan" not in words(sheet(report, kept))


def test_whose_eggs_are_safe_where_the_cocks_changed(tmp_path: Path) -> None:
    moves = [
        stay("SC", "Orchard", "2027-02-01", "2027-03-20"),
        stay("A1", "Orchard", "2027-02-01"),
        stay("SD", "Orchard", "2027-03-21"),
    ]
    found = sheet(report_of(small_flock(tmp_path, today="2027-03-25", moves=moves)), "Orchard")
    assert found.strip[1] == "Eggs safe from Sat 10 April"
    assert "Eggs of A1 are surely SC's from Mon 8 February until Sun 21 March." in words(found)
    late = [*moves[:2], stay("SD", "Orchard", "2027-04-15")]
    path = tmp_path / "late"
    found = sheet(report_of(small_flock(path, today="2027-04-17", moves=late)), "Orchard")
    assert found.strip[1] == "Safe are eggs of SC only"
    path = tmp_path / "none"
    found = sheet(report_of(small_flock(path, today="2027-03-25", moves=moves[:2])), "Orchard")
    assert found.strip[1] == "Safe are eggs of SC only, who left"


def test_rules_set_aside_are_told_at_the_pen(tmp_path: Path) -> None:
    allow: list[Row] = [{"bird": "S1", "with": "SD", "wish": "allow", "why": ""}]
    settings = "[limits]\nage_min_days = 2000\n"
    report = report_of(small_flock(tmp_path, settings=settings, wishes=allow))
    yard = next(pen for pen in breeding_pens(report.guide) if pen == "Yard")
    narrow = of_pen(report.guide, yard)
    pairs = [p for hen in ("S1", "S2", "S3") if (p := narrow.pens.pair(hen, "SD"))]
    told = cautions(narrow, occupancy(report.guide, yard), pairs)
    assert any(one.startswith("By your wish, against the rules: S1 with SD") for one in told)
    assert any(one.startswith("S2 with SD, against a rule:") for one in told)


def test_too_many_hens_are_told(tmp_path: Path) -> None:
    folder = small_flock(tmp_path)
    birds = (folder / "birds.csv").read_text(encoding="utf-8").splitlines()
    rows = [f"{row},{'2' if row.startswith('SD,') else ''}" for row in birds[1:]]
    text = "\n".join([f"{birds[0]},hens_max", *rows]) + "\n"
    (folder / "birds.csv").write_text(text, encoding="utf-8")
    report = report_of(folder)
    assert "3 hens are more than SD usually serves: 2 at most" in words(sheet(report, "Yard"))
    assert "usually serves" not in words(sheet(report, "Orchard"))


def test_chicks_that_would_die_are_told(tmp_path: Path) -> None:
    """Two creepers: a quarter of the embryos has two copies (Cutler 1925, in tests/published)."""
    half = "sussex:0.5|araucana:0.5"
    birds = [
        cock("C1", "Alder", half, Cp="creeper"),
        hen("H1", "Alder", half, Cp="creeper"),
        hen("H2", "Alder", half),
        cock("SC"),
        hen("SH"),
    ]
    plan: list[Row] = [
        {"pen": "1", "line": "Alder", "cock": "C1", "hen": hen} for hen in ("H1", "H2")
    ]
    settings = (
        '[limits]\nlethal_max = 0.3\nproof_min = 0.0\n[lines.Alder]\nstep = "intercross"\n'
        "[loci.Cp]\nfrequency = {araucana = 0.5, sussex = 0.0}\n"
    )
    pens = [{"pen": "1", "hens_max": "4"}, {"pen": "2", "hens_max": "4"}]
    report = report_of(write_flock(tmp_path, birds, settings, pens=pens, plan=plan))
    text = " ".join(words(pages[0].contents) for _, pages in doors_view(report).values["pens"])
    assert "25 % of the chicks of H1 with C1 are expected to die or suffer" in text


def test_the_template_shows_all_of_it_and_escapes_names(tmp_path: Path) -> None:
    name = "<b>\"&'</b>"
    folder = small_flock(tmp_path, pen=name)
    html = _html(report_of(folder))
    assert '<b>"' not in html
    assert "&lt;b&gt;&#34;&amp;&#39;&lt;/b&gt;" in html
    assert html.count('class="sheet"') == 2
    assert 'id="doors-print-sheets" checked' in html


def test_no_pen_is_said(tmp_path: Path) -> None:
    report = report_of(small_flock(tmp_path))
    values: dict[str, Any] = {**doors_view(report).values, "tiles": [], "pens": []}
    html = environment().get_template("doors.html").render(doors=values)
    assert "No cock stands with a hen in any pen this season." in html


def _html(report: SeasonReport) -> str:
    return environment().get_template("doors.html").render(doors=doors_view(report).values)
