"""What ``route`` says of the three shipped flocks and of small ones, in process."""

from __future__ import annotations

import io
import json
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

import pytest
from rich.console import Console

from matchmaker import verbs
from matchmaker.errors import UsageError
from matchmaker.report.documents import as_json
from matchmaker.report.route import print_route
from matchmaker.report.route_document import route_document, route_sheet
from matchmaker.route.asking import days_of_age
from matchmaker.route.schemes import RESTRICTIONS
from matchmaker.tables.records import Sex
from tests.builders import bird, cock, dna, hen, write_flock
from tests.cli.run import EXAMPLES_FOLDER
from tests.screens import plain

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.route.routing import Routing


@cache
def answer_for(example: str) -> Routing:
    """The routes of a shipped flock."""
    return verbs.route(EXAMPLES_FOLDER / example)


def screen(answer: Routing, scheme: str = "any") -> str:
    """The screen, 80 columns wide."""
    stream = io.StringIO()
    console = Console(file=stream, width=80, highlight=False, markup=False, emoji=False)
    print_route(console, answer, scheme)
    return stream.getvalue()


@pytest.mark.parametrize("example", ["tarn-croft", "holm-fen", "skarn-farm"])
def test_no_screen_is_wider_than_80(example: str) -> None:
    for scheme in RESTRICTIONS:
        assert max(map(len, screen(answer_for(example), scheme).splitlines())) <= 80


class TestTarnCroft:
    """Donor hens only, a recessive on the Z."""

    def test_the_cycle_is_proposed_and_the_naive_plan_refused(self) -> None:
        text = plain(screen(answer_for("tarn-croft")))
        assert "The route proposed: 7 seasons, 155 chicks to raise" in text
        assert "Sons and daughters carry it on in turn: sons, daughters, sons, daughters" in text
        assert "Keep any sons: all carry." in text
        assert "Keep the daughters that show chocolate (told day-old)." in text
        assert "the chance that one of them carries is exactly 0" in text
        assert "A hen gives her only Z to her sons" in text
        assert "no daughter of a carrier hen has her choc" in text
        assert "A hen has one Z, so one copy is all she can have." in text
        assert "Of the eggs set 61.2 % are reckoned to become chicks raised" in text

    def test_the_lines_go_on_with_the_cycle(self) -> None:
        for line in answer_for("tarn-croft").standings:
            assert line.next_step == "backcross"
            assert line.route is not None
            first = line.route.steps[0]
            assert (first.cock.source is not None, first.hen.recurrent) == (True, True)
            assert [str(kept.cell.telling) for kept in first.kept] == ["sight"]


class TestHolmFen:
    """Blue eggs with the pea comb beside them."""

    def test_schemes_are_weighed(self) -> None:
        schemes = answer_for("holm-fen").schemes
        hens, cocks = (schemes.named(name).routes[0] for name in ("hens", "cocks"))
        assert hens.seasons == cocks.seasons
        assert hens.dna_tests < cocks.dna_tests
        assert schemes.named("no-dna").routes[0].seasons > hens.seasons
        assert schemes.named("looks").best is None

    def test_the_comb_as_a_sign_fades(self) -> None:
        (sign,) = answer_for("holm-fen").markers
        assert (sign.hidden, sign.neighbour, sign.sex) == ("O", "P", Sex.COCK)
        assert [round(float(part), 4) for part in sign.after] == [0.96, 0.9216, 0.8847, 0.8493]
        assert "96 %, 92 %, 88 %, 85 % carry O" in plain(screen(answer_for("holm-fen")))

    def test_a_line_with_the_break_made_has_far_less_to_do(self) -> None:
        lines = {one.line: one for one in answer_for("holm-fen").standings}
        alder, cedar = lines["Alder"].route, lines["Cedar"].route
        assert alder is not None
        assert cedar is not None
        assert alder.chicks < cedar.chicks / 3

    def test_carriers_are_counted(self) -> None:
        lines = {one.line: one for one in answer_for("holm-fen").standings}
        assert lines["Cedar"].counts[Sex.HEN].carrying == 1
        assert lines["Alder"].backcrosses == 2


class TestSkarnFarm:
    """A recessive that hides, and lines with a step of their own."""

    def test_a_line_is_no_further_than_birds_that_surely_carry(self) -> None:
        """Juniper's birds of 75 % carry with one half at most; those that do are first crosses."""
        (juniper,) = [o for o in answer_for("skarn-farm").standings if o.line == "Juniper"]
        assert (juniper.share, juniper.backcrosses) == (Fraction(1, 2), 0)
        assert juniper.perhaps == Fraction(3, 4)
        text = plain(screen(answer_for("skarn-farm")))
        assert (
            "Juniper: carriers up to 50 % Langshan (first cross); birds that perhaps carry up to "
            "75 %." in text
        )

    def test_a_stated_step_is_obeyed_and_the_other_told(self) -> None:
        lines = {one.line: one for one in answer_for("skarn-farm").standings}
        assert lines["Juniper"].next_step == "intercross"
        assert lines["Juniper"].disagrees
        assert lines["Bracken"].next_step == "backcross"
        assert not lines["Bracken"].disagrees
        text = plain(screen(answer_for("skarn-farm")))
        assert 'says step = "intercross" for it, and the plan obeys that' in text

    def test_no_bird_is_finished_before_its_share_is(self) -> None:
        bracken = next(one for one in answer_for("skarn-farm").standings if one.line == "Bracken")
        assert all(count.finished == 0 for count in bracken.counts.values())

    def test_what_hides_is_told_once_for_both_sexes(self) -> None:
        text = plain(screen(answer_for("skarn-farm")))
        assert text.count("It shows again where carriers") == 1
        assert "Waiting for chicks of a carrier and a Langshan bird" in text

    def test_test_matings_are_told_with_their_chicks(self) -> None:
        text = plain(screen(answer_for("skarn-farm"), "no-dna"))
        assert "5 / 7 chicks (95 / 99 %), all without lavender, mean no copy of lav" in text
        assert "one other chick proves the contrary" in text
        assert "Breed from all of them meanwhile" in text


def test_the_document_says_what_the_screen_says() -> None:
    answer = answer_for("tarn-croft")
    document = json.loads(as_json(route_document(answer)))
    assert document["schema"] == "matchmaker/route/1"
    assert document["inputs"]
    assert any("4 backcrosses" in text for text in document["defaults"])
    route = document["route"]
    assert (route["seasons"], route["chicks"]) == (7, 155)
    sons = route["steps"][0]["chicks"]["cock"]
    assert sons == [{"copies": {"choc": 1}, "fraction": "1", "chance": 1.0}]
    assert route["steps"][1]["working"]["raise"] == {"0.95": 29, "0.99": 37}
    assert document["pitfalls"][0]["why"] == "hen-gives-z-to-sons"
    assert {one["line"] for one in document["lines"]} == {"Chocolate", "Cocoa"}
    assert route_document(answer, "hens")["route"] is None


def test_the_sheet_has_a_row_for_each_class_kept() -> None:
    sheet = route_sheet(answer_for("tarn-croft"))
    assert len(sheet.rows) == 7
    assert dict(zip(sheet.header, sheet.rows[1], strict=True))["chance"] == 0.25
    assert route_sheet(answer_for("tarn-croft"), "hens").rows == ()


PURE = (cock("SC"), hen("SH"))
TOP = 'season = 2027\nrecurrent = "sussex"\ntarget = {target}\n'


def top(target: str) -> str:
    """Settings with this target."""
    return TOP.replace("{target}", target)


def test_a_target_of_nothing_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="nothing to bring in"):
        verbs.route(write_flock(tmp_path, PURE, top=top("{O = 0}")))


def test_more_loci_than_can_be_searched_are_refused(tmp_path: Path) -> None:
    folder = write_flock(tmp_path, PURE, top=top("{O = 2, P = 0, R = 2, lav = 2}"))
    with pytest.raises(UsageError, match="names 4 loci"):
        verbs.route(folder)


def test_a_lethal_double_dose_is_refused(tmp_path: Path) -> None:
    own = "[loci.Zl]\ninheritance = 'Z'\ndominance = 'recessive'\nlethal = [2]\n"
    with pytest.raises(UsageError, match="ask a veterinarian"):
        verbs.route(write_flock(tmp_path, PURE, own, top=top("{Zl = 1}")))


def test_one_copy_never_breeds_true_and_the_screen_says_so(tmp_path: Path) -> None:
    text = plain(screen(verbs.route(write_flock(tmp_path, PURE, top=top("{Cp = 1}")))))
    assert "never breeds true" in text
    assert "Always carrier × free" in text
    assert "none, both sexes taken as to be had" in text


def test_a_finished_line_has_nothing_left_to_do(tmp_path: Path) -> None:
    done = [
        bird("XC", "cock", "Alder", "sussex:0.98|araucana:0.02"),
        bird("XH", "hen", "Alder", "sussex:0.98|araucana:0.02"),
    ]
    seen = [dna("XC", "O", 2), dna("XH", "O", 2)]
    answer = verbs.route(write_flock(tmp_path, [*PURE, *done], top=top("{O = 2}"), seen=seen))
    (alder,) = answer.standings
    assert alder.next_step == "done"
    assert alder.counts[Sex.HEN].finished == 1
    assert "finished birds of both sexes are there" in plain(screen(answer))


def test_a_third_locus_nearer_by_leaves_the_phase_open(tmp_path: Path) -> None:
    birds = [
        bird("XC", "cock", "Alder", "sussex:0.5|araucana:0.5"),
        bird("XH", "hen", "Alder", "sussex:0.5|araucana:0.5"),
    ]
    own = '[loci.cha]\nlinked_to = "P"\nrecombination = 0.003\n'
    seen = [dna(band, locus, 1) for band in ("XC", "XH") for locus in ("O", "P", "cha")]
    folder = write_flock(tmp_path, [*PURE, *birds], own, top=top("{O = 2, P = 0}"), seen=seen)
    answer = verbs.route(folder)
    assert ("O", "P") not in answer.study.linked
    (alder,) = answer.standings
    assert alder.counts[Sex.COCK].carrying == 1
    assert alder.route is not None


def test_a_line_without_carriers_has_no_route_of_its_own(tmp_path: Path) -> None:
    lost = [
        bird("XC", "cock", "Alder", "sussex:0.75|araucana:0.25"),
        bird("XH", "hen", "Alder", "sussex:0.75|araucana:0.25"),
    ]
    seen = [dna("XC", "O", 0), dna("XH", "O", 0)]
    answer = verbs.route(write_flock(tmp_path, [*PURE, *lost], top=top("{O = 2}"), seen=seen))
    assert answer.standings[0].route is None
    assert "bring carriers in from another line" in plain(screen(answer))


def test_the_last_chicks_are_as_old_as_the_season_has_it(tmp_path: Path) -> None:
    """Eggs of 24 April are set on the 25th and hatch on 16 May, 260 days before 31 January."""
    birds = [hen("A1", "Alder", "araucana", O="blue"), cock("SC"), hen("S1")]
    year = "[year]\npen_up = 2027-01-31\ncollect_until = 2027-04-24\n"
    assert days_of_age(verbs.flock(write_flock(tmp_path, birds, year))) == 260


def test_two_genes_wanted_once_are_in_a_quarter_of_the_chicks(tmp_path: Path) -> None:
    """Carrier × free passes each of two unlinked genes on to half, both to a quarter."""
    birds = [
        *[bird(f"S{sex}", sex, "Pure", "sussex") for sex in ("cock", "hen")],
        *[bird(f"D{sex}", sex, "Alder", "araucana") for sex in ("cock", "hen")],
    ]
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {Cr = 1, Cp = 1}\n'
    text = plain(screen(verbs.route(write_flock(tmp_path, birds, "", top))))
    assert "carrier × free, 1/4 of the chicks as wanted, for ever." in text
    assert "donor's piece about 97 cM around Cp and 52 cM around Cr." in text
    assert "in centimorgans (cM). A stretch of 1 cM is parted in about one egg" in text
    assert "Alder: only donor birds surely carry. Cocks: 1 carrying." in text


def test_donor_birds_of_one_copy_by_chance_are_not_called_carriers(tmp_path: Path) -> None:
    birds = [cock("SC"), hen("SH"), hen("DH", "Alder", "araucana"), cock("DC", "Alder", "araucana")]
    top = 'season = 2027\nrecurrent = "sussex"\ntarget = {Bl = 1}\n'
    text = plain(screen(verbs.route(write_flock(tmp_path, birds, "", top))))
    assert "Alder: no bird that surely carries; donor birds perhaps do. Cocks: 0" in text
