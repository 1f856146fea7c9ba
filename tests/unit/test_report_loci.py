"""The catalogue as it is printed, documented and written to rows."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import pytest
from rich.console import Console

from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.genetics.loci.known import KnownLoci
from matchmaker.genetics.loci.settled import resolve_loci
from matchmaker.report.loci import (
    asked_traits,
    loci_document,
    loci_sheet,
    print_links,
    print_loci,
    print_locus,
)
from matchmaker.report.locus_sentences import (
    age_text,
    copies_sentence,
    dominance_sentence,
    founders_sentence,
    gene_sentence,
    inheritance_sentence,
    inherited,
    lethal_fractions,
    lethal_sentences,
    linkage_sentence,
    one_copy_sentence,
    shown_sentence,
    shows,
    stated_frequencies,
    word_lines,
)
from matchmaker.settings import Settings

if TYPE_CHECKING:
    from matchmaker.genetics.loci.locus import Locus

PLAIN = KnownLoci(loci=catalogue())


def screen(width: int = 80) -> tuple[Console, io.StringIO]:
    text = io.StringIO()
    return Console(file=text, width=width, highlight=False, markup=False, emoji=False), text


def own(**loci: dict[str, Any]) -> KnownLoci:
    raw = {"season": 2027, "recurrent": "sussex", "target": {"O": 2}, "loci": loci}
    settings = Settings.model_validate(raw)
    known, faults = resolve_loci(settings, loci)
    assert not faults
    return KnownLoci(loci={**catalogue(), **known}, stated=tuple(loci))


def whole(locus: Locus, known: KnownLoci = PLAIN, width: int = 200) -> str:
    console, text = screen(width)
    print_locus(console, locus, known)
    return text.getvalue()


@pytest.mark.parametrize("locus", catalogue().values(), ids=list(catalogue()))
class TestEveryLocus:
    def test_prints_whole_in_eighty_columns(self, locus: Locus) -> None:
        lines = whole(locus, width=80).splitlines()
        assert max(map(len, lines)) <= 80
        assert lines[0] == f"{locus.symbol}: {locus.name}"

    def test_shows_caution_and_pointer_where_it_can_hurt_and_only_there(self, locus: Locus) -> None:
        text = whole(locus, width=1000)
        assert ("veterinarian" in text) == bool(locus.caution)
        assert locus.caution in text
        assert locus.source in text

    def test_says_its_lethal_fraction_where_there_is_one(self, locus: Locus) -> None:
        assert bool(lethal_sentences(locus)) == bool(locus.lethal)


@pytest.mark.parametrize(
    ("symbol", "fractions"),
    [
        ("Cp", [0.25]),
        ("F", [0.25]),
        ("n", [0.25]),
        ("sc", [0.25]),
        ("Ap", [0.5, 0.75]),
        ("O", []),
    ],
)
def test_lethal_fractions(symbol: str, fractions: list[float]) -> None:
    """Creeper: Cutler 1925 (abstract); the rest by Mendel's laws.

    A carrier cock of a Z-linked recessive gives it to half of his daughters, who show it; a
    dominant one takes half the chicks of one carrier and three quarters of two.
    """
    assert list(lethal_fractions(catalogue()[symbol]).values()) == fractions


def test_dead_and_suffering_chicks_are_told_apart() -> None:
    (dead,) = lethal_sentences(catalogue()["Cp"])
    (crippled,) = lethal_sentences(catalogue()["F"])
    assert dead.startswith("hen × cock, one copy each: 25 % of the chicks die;")
    assert "25 % of the chicks suffer from it" in crippled


@pytest.mark.parametrize(
    ("days", "text"),
    [(0, "at hatch"), (1, "day-old"), (28, "4 weeks"), (100, "14 weeks"), (180, "6 months")],
)
def test_age_text(days: int, text: str) -> None:
    assert age_text(days) == text


@pytest.mark.parametrize(
    ("symbol", "way", "who"),
    [
        ("O", "dominant", "hens, 6 months"),
        ("choc", "Z, recessive", "both sexes, day-old"),
        ("Na", "incomplete", "both sexes, at hatch"),
        ("eWh", "series of 5", "both sexes, day-old"),
        ("Hf", "dominant", "cocks, 5 months"),
    ],
)
def test_words_of_the_table(symbol: str, way: str, who: str) -> None:
    assert (inherited(catalogue()[symbol]), shows(catalogue()[symbol])) == (way, who)


def test_z_linkage_says_who_gets_it() -> None:
    assert "passes it to her sons only" in inheritance_sentence(catalogue()["S"])
    assert "sons only" not in inheritance_sentence(catalogue()["O"])


def test_dominance_of_a_series_is_its_order() -> None:
    assert "E > ER > eWh > e+ > eb" in dominance_sentence(catalogue()["eWh"])


def test_a_hen_shows_her_only_copy() -> None:
    assert dominance_sentence(catalogue()["choc"]).endswith("A hen shows the one she has.")


def test_who_carries_it_unseen_and_how_often_it_fails_to_show() -> None:
    assert shown_sentence(catalogue()["O"]) == "Hens, from 6 months. Cocks carry it unseen."
    assert "About 10 % of birds that should show it do not." in shown_sentence(catalogue()["Po"])


@pytest.mark.parametrize(
    ("symbol", "words"),
    [
        ("Cp", "Two copies do not live"),
        ("lav", "looks like one with none"),
        ("Bl", "can be told by eye"),
        ("P", "can sometimes be told"),
        ("O", "cannot be told by eye"),
        ("S", "A cock with one copy"),
    ],
)
def test_whether_one_copy_can_be_told(symbol: str, words: str) -> None:
    assert words in one_copy_sentence(catalogue()[symbol])


@pytest.mark.parametrize(
    ("symbol", "words"),
    [("sc", "No bird"), ("Cp", "At most one"), ("O", "Two are safe"), ("S", "one in a hen")],
)
def test_most_copies(symbol: str, words: str) -> None:
    assert words in copies_sentence(catalogue()[symbol])


def test_words_for_the_tables_of_a_series_and_of_two_alleles() -> None:
    assert "eb: partridge, brown, brown down" in list(word_lines(catalogue()["eWh"]))
    lines = list(word_lines(catalogue()["Na"]))
    assert [line.split(":")[0] for line in lines] == [
        "it shows",
        "one copy shows",
        "one copy or two",
        "it does not show",
        "or",
    ]
    assert lines[-1].endswith("a genotype such as Na/na+")


def test_a_linkage_tells_its_source_and_how_sure_it_is() -> None:
    (link,) = [link for link in catalogue()["O"].linkages if link.symbol == "P"]
    sentence = linkage_sentence(link, catalogue())
    assert sentence.startswith("P (Pea comb), parted in 4 % of gametes. Source: ")
    assert sentence.endswith("(unconfirmed).")


def test_a_linkage_without_a_figure_says_so() -> None:
    (link,) = [link for link in catalogue()["B"].linkages if link.symbol == "Id"]
    assert "no figure" in linkage_sentence(link, catalogue())


def test_the_place_of_a_locus() -> None:
    assert gene_sentence(catalogue()["Cp"]) == (
        "Chromosome 7; IHH: the change that causes it is known."
    )
    assert gene_sentence(catalogue()["bd"]) == "Chromosome not known; the gene is not known."


def test_what_is_taken_of_founders() -> None:
    assert "pure for it in other breeds" in founders_sentence(catalogue()["O"])
    assert "50 % of their alleles" in founders_sentence(catalogue()["Cp"])
    assert "The rest counts as e+" in founders_sentence(catalogue()["eWh"])
    assert '[loci."I^D".frequency]' in founders_sentence(catalogue()["I^D"])


def test_frequencies_of_the_settings_are_shown() -> None:
    frequency = {"sussex": 0.1, "faverolles": {"E": 0.5, "eWh": 0.5}}
    locus = own(eWh={"frequency": frequency}).loci["eWh"]
    assert list(stated_frequencies(locus)) == [
        "In sussex, by your settings: 10 % of the alleles.",
        "In faverolles, by your settings: E 50 %, eWh 50 %.",
    ]


def test_the_table_marks_what_the_settings_say_something_of() -> None:
    known = own(O={"error": 0.02})
    console, text = screen()
    print_loci(console, {symbol: known.loci[symbol] for symbol in ("O", "Cp")}, known)
    lines = text.getvalue().splitlines()
    assert lines[2].split()[:3] == ["O*", "Blue", "eggshell"]
    assert lines[3].rstrip().endswith("1  !")
    assert "*: your matchmaker.toml" in " ".join(lines)


def test_the_whole_catalogue_fits_eighty_columns_as_a_table() -> None:
    console, text = screen()
    print_loci(console, catalogue(), PLAIN)
    lines = text.getvalue().splitlines()
    assert lines[0].startswith("Locus  Name")
    assert max(map(len, lines)) <= 80


def test_links_are_listed_once_the_tightest_first() -> None:
    console, text = screen(200)
    print_links(console, catalogue(), PLAIN)
    rows = [line.split()[:3] for line in text.getvalue().splitlines()[2:]]
    pairs = [frozenset(row[:2]) for row in rows if len(row) == 3 and row[2][0].isdigit()]
    assert len(set(pairs)) == len(pairs)
    assert pairs[:2] == [frozenset({"P", "cha"}), frozenset({"R", "Cp"})]
    figures = [float(row[2]) for row in rows if len(row) == 3 and row[2][0].isdigit()]
    assert figures == sorted(figures)


def test_a_locus_of_the_keeper_s_own_with_his_own_link() -> None:
    known = own(
        zz={
            "inheritance": "autosomal",
            "dominance": "dominant",
            "linked_to": "O",
            "recombination": 0.1,
        }
    )
    text = whole(known.loci["zz"], known)
    assert "A locus of your own." in text
    assert "O (Blue eggshell), parted in 10 % of gametes. Source: your settings." in text
    assert "zz (zz), parted in 10 % of gametes" in whole(known.loci["O"], known)


def test_traits_of_many_genes_are_found_by_their_words() -> None:
    assert [trait.name for trait in asked_traits("Brown egg")] == ["Brown eggshell"]
    assert asked_traits("") == ()
    assert asked_traits("pea comb") == ()


def test_the_document_holds_linkages_words_and_lethal_chicks() -> None:
    document = loci_document({"Cp": catalogue()["Cp"]}, PLAIN)
    assert document["schema"] == "matchmaker/loci/1"
    (entry,) = document["loci"]
    assert (entry["locus"], entry["yours"]) == ("Cp", False)
    assert [link["symbol"] for link in entry["linkages"]] == ["R"]
    assert entry["words"]["one_copy"][0] == "creeper"
    assert list(entry["lethal_chicks"].values()) == [0.25]


def test_the_sheet_has_one_row_a_locus() -> None:
    sheet = loci_sheet(catalogue(), PLAIN)
    assert len(sheet.rows) == len(catalogue())
    row = dict(zip(sheet.header, sheet.rows[list(catalogue()).index("P")], strict=True))
    assert (row["locus"], row["linked"]) == ("P", "O 0.04|cha 0.003|Db 0.32")
    assert (row["inheritance"], row["lethal"]) == ("autosomal", "")
