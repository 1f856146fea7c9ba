"""The screens of the flock and of one bird: each fact in its place, in words."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from matchmaker import verbs
from matchmaker.genetics.census import DoubtKind, FlockDoubt, Rates
from matchmaker.genetics.kin.generations import GenerationInterval, InbreedingRate
from matchmaker.report.flock import doubt_text, rate_sentences
from matchmaker.report.flock_document import flock_document
from tests.builders import HOME, HOME_SEEN, bird, chick, cock, hen, write_flock
from tests.screens import plain, shown

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.table import PairTable

SETTINGS = """
[traits.eggs_12wk]
direction = "up"
unit = "eggs"
"""

BIRDS = (
    *HOME,
    cock("SC2", source="Moorside", sire="", dam=""),
    chick("K1", "cock", "AC", "AH", "Alder"),
    chick("K2", "hen", "AC", "AH", "Alder"),
    chick("K3", "hen", "SC|SC2", "AH", "Alder"),
    chick("K4", "", "SC", "AH", "Alder"),
    bird("Q", "hen", "Alder", sire="K1", dam="K3", hatched="2026-12-01", status="young"),
    hen("SOLD", status="sold", left_on="2026-06-01"),
)
SEEN = (
    *HOME_SEEN,
    {"bird": "K3", "locus": "O", "what": "blue", "how": "adult"},
    {"hen": "SH", "cock": "K1", "locus": "O", "what": "3 not blue", "how": "adult"},
)
SCORES = ({"bird": "AH", "eggs_12wk": "50"}, {"bird": "SH", "eggs_12wk": "60"})


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> PairTable:
    path = tmp_path_factory.mktemp("screens")
    return verbs.pairs(write_flock(path, BIRDS, SETTINGS, seen=SEEN, scores=SCORES))


def test_a_breed_is_written_as_the_settings_have_it(tmp_path: Path) -> None:
    birds = [cock("SC", breed="Light Sussex"), hen("SH", breed="Light Sussex")]
    top = 'season = 2027\nrecurrent = "Light Sussex"\ntarget = {O = 2}\n'
    text = shown(verbs.pairs(write_flock(tmp_path, birds, top=top)))
    assert "Light Sussex" in text
    assert "Light sussex" not in text


class TestFlock:
    def test_the_first_thing_is_the_table_of_birds(self, table: PairTable) -> None:
        lines = shown(table).splitlines()
        assert lines[0].split()[:3] == ["Bird", "Sex", "Line"]
        birds = [line.split()[0] for line in lines[2 : 2 + len(table.study.flock.living)]]
        assert sorted(birds) == [one.band for one in table.study.flock.living]

    def test_the_share_carries_its_range(self, table: PairTable) -> None:
        (row,) = [line for line in shown(table).splitlines() if line.startswith("Q ")]
        assert re.search(r"62\.5 ±\d+ %", row)

    @pytest.mark.parametrize("heading", ["Lines", "Founders", "Inbreeding and effective size"])
    def test_the_parts_follow(self, table: PairTable, heading: str) -> None:
        assert heading in shown(table).splitlines()

    def test_lines_are_counted(self, table: PairTable) -> None:
        (row,) = [line for line in shown(table).splitlines() if line.startswith("Alder ")]
        assert row.split()[:4] == ["Alder", "2", "4", "1"]

    def test_founders_left_are_of_all_founders(self, table: PairTable) -> None:
        assert re.search(r"Genes of (over )?\d(\.\d)? of 5 founders are left", plain(shown(table)))

    def test_what_is_doubtful_stands_last(self, table: PairTable) -> None:
        text = shown(table)
        doubts = plain(text.partition("What is doubtful")[2])
        assert "sex not known: K4" in doubts
        assert "one of several possible sires or dams: K3" in doubts
        assert "may or may not carry blue eggshell (10 to 90 %): " in doubts

    def test_many_birds_are_counted(self, table: PairTable) -> None:
        doubt = FlockDoubt(kind=DoubtKind.SEX, birds=tuple(f"B{n}" for n in range(8)))
        assert doubt_text(doubt, table.study) == (
            "sex not known: 8 birds: B0, B1, B2, B3, B4, B5 and 2 more"
        )

    @pytest.mark.parametrize("width", [60, 80, 120])
    def test_no_line_is_wider_than_the_screen(self, table: PairTable, width: int) -> None:
        assert max(map(len, shown(table, width=width).splitlines())) <= width


def rates(per_generation: float | None) -> Rates:
    return Rates(
        inbreeding=InbreedingRate(
            per_generation=per_generation, birds=5, generations=3.0, by_generation=()
        ),
        interval=GenerationInterval(sires=1.0, dams=2.0),
        diversity=None,
        size_by_sexes=6.7,
    )


@pytest.mark.parametrize(
    ("rate", "words"),
    [
        (0.025, "rose by 2.5 % a generation behind the living breeders, as in a flock of 20 birds"),
        (0.0, "no breeder is inbred by the tables yet"),
        (None, "no breeder has forebears enough in the tables"),
    ],
)
def test_the_rate_of_inbreeding_is_said_or_why_it_is_not(rate: float | None, words: str) -> None:
    first, *rest = rate_sentences(rates(rate))
    assert words in first
    assert rest == [
        "by the numbers of cocks and hens alone, the effective size is 7",
        "a generation takes 1.5 years (age of parents at hatch)",
    ]


class TestBird:
    def test_who_it_is_comes_first(self, table: PairTable) -> None:
        first = shown(table, "K1").splitlines()[0]
        assert first == "K1: cock of line Alder, hatched 1 April 2026; breeder"

    def test_a_bird_that_is_gone_says_when(self, table: PairTable) -> None:
        assert shown(table, "SOLD").splitlines()[0].endswith("; sold 1 June 2026")

    def test_grandparents_stand_under_their_child(self, table: PairTable) -> None:
        lines = shown(table, "Q").splitlines()
        assert lines[1:4] == [
            "  sire: K1 (Alder)",
            "    his sire: AC (Alder)",
            "    his dam: AH (Alder)",
        ]

    def test_one_of_two_sires_comes_with_his_chance(self, table: PairTable) -> None:
        text = shown(table, "Q")
        assert "    her sire: SC (Pure) 50 % or SC2 (Pure) 50 %" in text.splitlines()

    def test_each_possible_parent_has_its_own_parents(self, table: PairTable) -> None:
        text = shown(table, "K3")
        assert "    SC's sire: founder (Sussex)" in text
        assert "    SC2's dam: not written, taken as a founder (Sussex from Moorside)" in text

    def test_inbreeding_is_shared_out_among_forebears(self, table: PairTable) -> None:
        lines = shown(table, "Q").splitlines()
        at = lines.index("  inbreeding: 0.125, of which")
        assert lines[at + 1] == "    0.125 through AH, her sire's dam and her dam's dam"
        assert lines[at + 2].startswith("  mean kinship")

    def test_a_bird_of_unrelated_parents_is_not_inbred(self, table: PairTable) -> None:
        assert "  inbreeding: 0" in shown(table, "K4").splitlines()

    def test_the_share_has_its_range(self, table: PairTable) -> None:
        assert re.search(
            r"Sussex: 62\.5 %; 19 of 20 such birds have \d+ % to \d+ %", shown(table, "Q")
        )

    def test_a_pure_bird_has_no_range(self, table: PairTable) -> None:
        assert "  Sussex: 100 %" in shown(table, "SC").splitlines()

    def test_the_nearest_possible_mates_are_named(self, table: PairTable) -> None:
        assert "nearest kin among possible mates: AH 0.250 (dam), K2 0.250 (full sister)" in plain(
            shown(table, "K1")
        )

    def test_evidence_is_listed_with_what_it_moved(self, table: PairTable) -> None:
        lines = shown(table, "K1").splitlines()
        at = next(n for n, line in enumerate(lines) if line.startswith("What is known"))
        assert [re.split(r"\s{2,}", line) for line in lines[at + 2 : at + 5]] == [
            ["parents and the founders' breeds alone", "75 %", "25 %"],
            ["chicks of SH × K1: 3 not blue (seen.csv row 5)", "20 %", "0 %"],
            ["3 other records", "no change", ""],
        ]

    def test_records_are_named_by_whose_they_are(self, table: PairTable) -> None:
        assert "her own record: blue (seen.csv row 4)" in plain(shown(table, "K3"))
        assert "dam K3: blue (seen.csv row 4)" in plain(shown(table, "Q"))

    def test_the_test_chicks_that_would_settle_it(self, table: PairTable) -> None:
        text = plain(shown(table, "K1"))
        assert (
            "3 more daughters by a hen with no copy, none showing blue eggshell, would show with "
            "95 % that he does not carry blue eggshell (5 for 99 %); they can be judged at 180 "
            "days of age."
        ) in text
        assert "One daughter that shows it proves that he does carry it." in text

    def test_the_donors_piece_is_measured_if_it_carries(self, table: PairTable) -> None:
        assert "Donor's piece around it if he carries it: about" in shown(table, "K1")
        assert "Donor's piece around it: about" in shown(table, "K3")
        assert "Donor's piece" not in shown(table, "SC")

    def test_traits_with_too_few_scores_are_said(self, table: PairTable) -> None:
        assert "Too few birds are scored to tell anything yet of eggs_12wk." in plain(
            shown(table, "AH")
        )

    def test_what_rejects_it_whatever_the_mate(self, table: PairTable) -> None:
        assert "rejected, whatever the mate: Q will be 62 days old" in plain(shown(table, "Q"))

    @pytest.mark.parametrize("band", ["K1", "K3", "K4", "Q", "SOLD"])
    @pytest.mark.parametrize("width", [60, 80, 120])
    def test_no_line_is_wider_than_the_screen(
        self, table: PairTable, band: str, width: int
    ) -> None:
        assert max(map(len, shown(table, band, width).splitlines())) <= width


class TestDocument:
    def test_the_flock_has_lines_founders_rates_and_doubts(self, table: PairTable) -> None:
        document = flock_document(table)
        assert document.keys() >= {"birds", "lines", "founders", "rates", "doubts"}
        assert {one["line"] for one in document["lines"]} == {"Alder", "Pure"}
        assert len(document["founders"]["founders"]) == 5
        assert document["rates"]["effective_size_by_sexes"] > 0

    def test_shares_have_their_spread(self, table: PairTable) -> None:
        spread = {one["bird"]: one["share_spread"] for one in flock_document(table)["birds"]}
        assert spread["SC"] == 0
        assert 0.01 < spread["Q"] < 0.1

    def test_one_bird_has_its_account(self, table: PairTable) -> None:
        (one,) = flock_document(table, "K1")["birds"]
        steps = one["loci"]["O"]["account"]["steps"]
        assert [step["whose"] for step in steps] == ["parent", "chick", "mate"]
        assert steps[-1]["after"] == pytest.approx(one["genotypes"]["O"])
        (record,) = steps[1]["records"]
        assert (record["birds"], record["file"], record["row"]) == (["SH", "K1"], "seen.csv", 5)

    def test_one_bird_has_its_tests_and_kin(self, table: PairTable) -> None:
        (one,) = flock_document(table, "K1")["birds"]
        assert one["loci"]["O"]["tests"][0]["chicks"] == {"0.95": 3, "0.99": 5}
        assert one["inbred_through"] == []
        assert one["nearest"][0] == {"bird": "AH", "kinship": 0.25, "relation": "dam"}
        assert [parent["candidates"][0]["bird"] for parent in one["parents"]] == ["AC", "AH"]
