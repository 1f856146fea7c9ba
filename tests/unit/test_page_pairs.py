"""Pairs as the page tells them: every rule, wishes, pens that are not the plan's, odd names."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.explain.pair import why_pair
from matchmaker.explain.prices import Cost
from matchmaker.explain.remedies import known_fixed, remedies
from matchmaker.pairs.rules import Rule
from matchmaker.report.page.page import data_text
from matchmaker.report.page.pair_explorer import pairs_view
from matchmaker.report.page.pair_texts import Marks
from matchmaker.report.why.kin_words import joined, path_sentences
from matchmaker.report.why.pair_words import WAIVED, evidence, fixed_sentence, rule_heading
from tests.builders import HOME, HOME_SEEN, chick, cock, hen, write_flock
from tests.page_pairs import Carried, report_of
from tests.season_flocks import small_flock
from tests.why_flocks import ALONE

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from matchmaker.pairs.table import PairTable
    from tests.builders import Row
    from tests.page_pairs import ToldRow

HOSTILE = "</script><b>&\"'"
PRIVATE = "\ue000\ue001"


def rows_of(table: PairTable) -> Mapping[tuple[str, str, str], ToldRow]:
    return Carried.of(report_of(table)).rows()


@pytest.mark.parametrize("rule", ALONE, ids=lambda rule: "-".join(filter(None, rule)))
def test_every_rule_is_told_as_why_tells_it(rule: tuple[Rule, str], tmp_path: Path) -> None:
    case = ALONE[rule]
    table = verbs.pairs(case.make(tmp_path / "flock"))
    answer = why_pair(table, None, case.hen, case.cock)
    told = rows_of(table)[answer.pair.key]
    assert told.rules == [rule_heading(one) for one in answer.pair.broken]
    assert case.says in " ".join(told.rules).replace("No crossing", "no crossing").replace(
        "Kept apart", "kept apart"
    )
    assert told.evidence == [list(evidence(answer, one)) for one in answer.pair.broken]
    assert answer.remedies is not None
    if rule[0] is not Rule.LINE_CLOSED:
        assert told.fixed == [fixed_sentence(answer, one) for one in answer.remedies.fixed]


@pytest.mark.parametrize("rule", ALONE, ids=lambda rule: "-".join(filter(None, rule)))
def test_what_no_edit_lifts_is_known_without_a_search(
    rule: tuple[Rule, str], tmp_path: Path
) -> None:
    case = ALONE[rule]
    table = verbs.pairs(case.make(tmp_path / "flock"))
    for pair in table.pairs:
        known = known_fixed(table, pair)
        closed = any(one.rule is Rule.LINE_CLOSED for one in pair.broken)
        if pair.broken and not closed:
            assert known == remedies(table, pair.hen, pair.cock).fixed
        if closed or not pair.broken:
            assert known == ()


def test_a_pair_that_a_wish_allows_says_so_and_what_to_mind(tmp_path: Path) -> None:
    birds = [cock("SC"), hen("SH"), chick("Y", "hen", "SC", "SH", "Pure")]
    wishes = [{"bird": "Y", "with": "SC", "wish": "allow", "why": "no other"}]
    table = verbs.pairs(write_flock(tmp_path / "flock", birds, wishes=wishes))
    (told,) = [row for key, row in rows_of(table).items() if key[:2] == ("Y", "SC")]
    assert "against the rules" in told.words
    assert told.rules[0].startswith("Too closely related")
    assert told.cautions[0] == WAIVED
    assert "Close inbreeding costs" in told.cautions[1]


def test_pens_that_stand_are_told_beside_the_best_plan(tmp_path: Path) -> None:
    moves: list[Row] = [
        {"bird": "SC", "pen": "Orchard", "from": "2027-02-01"},
        {"bird": "S3", "pen": "Orchard", "from": "2027-02-01"},
    ]
    table = verbs.pairs(small_flock(tmp_path / "flock", today="2027-02-10", moves=moves))
    report = report_of(table)
    costs = {pair.key: Cost(at_least=0.25, at_most=0.25) for pair in table.allowed}
    carried = Carried.of(replace(report, costs=costs))
    paired = {key: row for key, row in carried.rows().items() if row.state == "paired"}
    assert {key[:2] for key in paired} == {("S3", "SC")}
    (told,) = paired.values()
    assert told.words == "paired, in pen Orchard"
    assert carried.values["differs"]
    best = {pair.hen: (pair.cock, pen.pen) for pen in report.plan.pens for pair in pen.pairs}
    if best.get("S3", ("", ""))[0] != "SC":
        where = "with {} in pen {}".format(*best["S3"]) if "S3" in best else "in no pen"
        assert told.more == (
            f"not in the best plan, which has her {where}; would cost 0.25 wanted chicks"
        )
    others = [
        row.more
        for key, row in carried.rows().items()
        if best.get(key[0], ("",))[0] == key[1] and row.state == "could-pair"
    ]
    assert others
    assert all(one.startswith("the best plan has the two in pen ") for one in others)


def test_a_pair_that_stands_against_the_rules_is_paired_and_told_its_rules(tmp_path: Path) -> None:
    birds = [cock("SC"), hen("SH"), hen("S2"), chick("Y", "hen", "SC", "SH", "Pure")]
    moves = [{"bird": one, "pen": "Yard", "from": "2027-02-01"} for one in ("SC", "Y")]
    folder = write_flock(tmp_path / "flock", birds, "", TODAY, moves=moves)
    told = next(row for key, row in rows_of(verbs.pairs(folder)).items() if key[0] == "Y")
    assert told.state == "paired"
    assert told.words == "paired, in pen Yard, against the rules"
    assert told.rules[0].startswith("Too closely related")


TODAY = 'season = 2027\ntoday = 2027-02-10\nrecurrent = "sussex"\ntarget = {O = 2}\n'


def test_without_costs_it_says_why_and_puts_those_of_most_value_first(tmp_path: Path) -> None:
    table = verbs.pairs(small_flock(tmp_path / "flock"))
    carried = Carried.of(report_of(table))
    assert any("is not worked out" in sentence for sentence in carried.values["intro"])
    rows = carried.rows()
    could = [pair for pair in table.allowed if rows[pair.key].state == "could-pair"]
    order = [one for one in carried.mates if one in {(pair.hen, pair.cock) for pair in could}]
    values = [
        max(pair.value or 0 for pair in could if (pair.hen, pair.cock) == one) for one in order
    ]
    assert values == sorted(values, reverse=True)


def test_a_pair_of_several_rows_is_told_in_each(tmp_path: Path) -> None:
    row = (
        '[[matings]]\nname = "{}"\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\n'
        'purpose = "backcross"\nkeep = {{O = [1]}}\nkeep_sex = "{}"\n'
    )
    settings = row.format("sons", "cock") + row.format("daughters", "hen")
    table = verbs.pairs(write_flock(tmp_path / "flock", HOME, settings, seen=HOME_SEEN))
    assert {key[2] for key in rows_of(table) if key[:2] == ("AH", "SC")} == {"sons", "daughters"}
    (own,) = [hen for hen in Carried.of(report_of(table)).values["hens"] if hen.band == "AH"]
    said = next(row for row in own.rows if "<b>SC</b>" in row)
    assert "“sons”" in said
    assert "“daughters”" in said


def test_names_that_look_like_markup_are_text(tmp_path: Path) -> None:
    birds = [cock(HOSTILE), hen("<i>"), hen(PRIVATE), chick("a", "hen", HOSTILE, "<i>", "Pure")]
    table = verbs.pairs(write_flock(tmp_path / "flock", birds))
    report = report_of(table)
    carried = Carried.of(report)
    assert {key[:2] for key in carried.rows()} == set(table.by_birds)
    assert not set(carried.data["marks"]) & set(PRIVATE)
    assert "<" not in data_text(carried.data)
    html = "".join(row for hen in carried.values["hens"] for row in hen.rows)
    assert "&lt;/script&gt;" in html
    assert HOSTILE not in html
    told = next(row for key, row in carried.rows().items() if key[0] == "a")
    assert told.sentence == f"a with {HOSTILE}: rejected, for 1 reason"


def test_marks_that_a_band_holds_are_not_taken() -> None:
    marks = Marks.beside([PRIVATE])
    assert marks == Marks("\ue002", "\ue003")
    assert (
        marks.filled("\ue002 with \ue003 and \ue000", "\ue003", "B") == "\ue003 with B and \ue000"
    )


def test_rounding_alone_makes_no_forebears(tmp_path: Path) -> None:
    """What sums of floating-point numbers leave over is not told as kinship."""
    birds = [cock("SC"), hen("SH"), hen("S2"), chick("Y", "hen", "SC", "SH", "Pure")]
    table = verbs.pairs(write_flock(tmp_path / "flock", birds))
    answer = why_pair(table, None, "Y", "SC")
    of = joined(answer)
    assert len(list(path_sentences(of, 4))) == 1
    dust = replace(of, kin=replace(of.kin, others=of.kin.before + 1e-17))  # type: ignore[arg-type]
    assert list(path_sentences(dust, 4)) == list(path_sentences(of, 4))


def test_a_flock_of_one_hen_and_one_cock_has_its_pair(tmp_path: Path) -> None:
    table = verbs.pairs(write_flock(tmp_path / "flock", [cock("SC"), hen("SH")]))
    assert list(Carried.of(report_of(table)).mates) == [("SH", "SC")]


def test_the_same_season_gives_the_same_page(tmp_path: Path) -> None:
    table = verbs.pairs(small_flock(tmp_path / "flock"))
    report = report_of(table)
    assert pairs_view(report) == pairs_view(report)
