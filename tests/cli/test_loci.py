"""``matchmaker loci``, answered in this process, and a lethal pair that is wished for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.builders import Row, bird, cock, hen, write_flock
from tests.cli.run import read_rows, run_here

if TYPE_CHECKING:
    from pathlib import Path

CREEPERS = (
    cock("SC", Cp="long legs"),
    hen("SH", Cp="long legs"),
    bird("AC", "cock", "Short", "sussex:0.5|scots:0.5", Cp="creeper"),
    bird("AH", "hen", "Short", "sussex:0.5|scots:0.5", Cp="creeper"),
)
TOP = 'season = 2027\nrecurrent = "sussex"\ntarget = {Cp = 1}\n'
FREQUENCY = "[loci.Cp.frequency]\nsussex = 0\nscots = 0.3\n"
TOGETHER: Row = {"bird": "AH", "with": "AC", "wish": "together", "why": "best legs"}
ALLOW: Row = {"bird": "AH", "with": "AC", "wish": "allow", "why": ""}


def test_the_whole_catalogue() -> None:
    ran = run_here("loci")
    assert ran.code == 0
    assert ran.lines[0].split() == [
        "Locus",
        "Name",
        "Inherited",
        "Shown",
        "by,",
        "from",
        "Safe",
        "!",
    ]
    assert max(map(len, ran.lines)) <= 80


def test_one_locus_in_full() -> None:
    out = " ".join(run_here("loci", "Cp").out.split())
    assert "hen × cock, one copy each: 25 % of the chicks die" in out
    assert "ask a veterinarian" in out
    assert "Cutler 1925" in out


@pytest.mark.parametrize(
    ("typed", "guess"),
    [
        ("cp", "Cp (Creeper (short legs))"),
        ("cpp", "Cp (Creeper (short legs))"),
        ("blue", "O (Blue eggshell)"),
        ("rose", "R (Rose comb)"),
    ],
)
def test_an_unknown_symbol_is_wrong_usage_with_a_guess(typed: str, guess: str) -> None:
    ran = run_here("loci", typed)
    assert (ran.code, ran.out) == (2, "")
    assert f"no locus has the symbol {typed}. Did you mean " in ran.err
    assert guess in ran.err


def test_words_find_loci_and_what_is_no_locus() -> None:
    assert [line.split()[0] for line in run_here("loci", "--find", "pea comb").lines[2:3]] == ["P"]
    ran = run_here("loci", "--find", "feathered legs")
    assert ran.code == 0
    assert "Feathered shanks is not one gene" in ran.out


def test_words_that_fit_nothing_are_wrong_usage() -> None:
    ran = run_here("loci", "--find", "zzzz")
    assert (ran.code, ran.out) == (2, "")
    assert "no locus fits 'zzzz'" in ran.err


@pytest.mark.parametrize(
    ("options", "symbols"),
    [
        (("--z-linked", "--caution"), ["n", "K", "pop"]),
        (("--find", "comb", "--day-old"), ["P", "R"]),
    ],
)
def test_filters_narrow_each_other(options: tuple[str, ...], symbols: list[str]) -> None:
    document = run_here("loci", *options, "--json").document
    assert [entry["locus"] for entry in document["loci"]] == symbols


def test_linked_loci_by_pairs() -> None:
    rows = [line.split() for line in run_here("loci", "--linked", COLUMNS="120").lines]
    assert rows[2][:5] == ["P", "cha", "0.3", "%", "unconfirmed"]


@pytest.mark.parametrize("option", ["--z-linked", "--day-old", "--caution", "--linked"])
def test_a_symbol_takes_no_filter(option: str) -> None:
    ran = run_here("loci", "O", option)
    assert ran.code == 2
    assert f"takes no {option}" in ran.err


def test_rows_go_to_a_file_that_is_not_overwritten(tmp_path: Path) -> None:
    file = tmp_path / "loci.csv"
    assert run_here("loci", "--z-linked", "--csv", file).code == 0
    assert [row["locus"] for row in read_rows(file)][:2] == ["dw", "n"]
    assert run_here("loci", "--csv", file).code == 6
    assert run_here("loci", "O", "--csv", file, "--force").code == 0
    assert [row["locus"] for row in read_rows(file)] == ["O"]


def test_a_folder_adds_its_own_loci_and_changes(tmp_path: Path) -> None:
    settings = (
        '[loci.spk]\nname = "Speckled egg"\ninheritance = "autosomal"\ndominance = "dominant"\n'
        'shown_by = "hen"\nwords = {shown = ["speckled"], hidden = ["clean"]}\n'
        "[loci.O]\nerror = 0.02\n"
    )
    folder = write_flock(tmp_path / "flock", CREEPERS, settings, TOP)
    document = run_here("loci", "--in", folder, "--json").document
    assert [entry["locus"] for entry in document["loci"] if entry["yours"]] == ["O", "spk"]
    assert list(document["inputs"]) == ["matchmaker.toml"]
    ran = run_here("loci", "spk", "--in", folder)
    assert "it shows: speckled" in ran.out
    assert run_here("loci", "spk").code == 2


@pytest.mark.parametrize(
    ("settings", "told"),
    [
        ('[loci.spk]\ninheritance = "autosomal"\n', "its dominance is not given"),
        ("[loci.O]\nerrors = 0.02\n", "did you mean error?"),
    ],
)
def test_faults_of_the_settings_are_told(tmp_path: Path, settings: str, told: str) -> None:
    folder = write_flock(tmp_path / "flock", CREEPERS, settings, TOP)
    ran = run_here("loci", "--in", folder)
    assert (ran.code, ran.out) == (3, "")
    assert told in " ".join(ran.err.split())


def test_faults_of_the_tables_do_not_matter(tmp_path: Path) -> None:
    folder = write_flock(tmp_path / "flock", CREEPERS, "", TOP)
    (folder / "birds.csv").write_text("nothing\nof use\n", encoding="utf-8")
    assert run_here("loci", "--in", folder).code == 0


@pytest.mark.parametrize("wishes", [(TOGETHER,), (TOGETHER, ALLOW)], ids=["together", "allowed"])
def test_a_plan_with_creeper_by_creeper_is_refused_with_its_fraction(
    tmp_path: Path, wishes: tuple[Row, ...]
) -> None:
    """Two copies kill: a quarter of the chicks (Cutler 1925, abstract); no wish allows it."""
    folder = write_flock(tmp_path / "flock", CREEPERS, FREQUENCY, TOP, wishes=wishes)
    ran = run_here("plan", "--in", folder)
    assert (ran.code, ran.out) == (4, "")
    told = " ".join(ran.err.split())
    assert "25 % of the chicks are expected to die or suffer from a double dose of Cp" in told
    assert "no wish can allow such a pair" in told
    assert "put each with a bird that is free of Cp" in told
    assert "delete the wish" in told


def test_creepers_are_planned_with_birds_that_are_free_of_it(tmp_path: Path) -> None:
    folder = write_flock(tmp_path / "flock", CREEPERS, FREQUENCY, TOP)
    document = run_here("plan", "--in", folder, "--json").document
    pairs = {(one["hen"], pen["cock"]) for pen in document["pens"] for one in pen["hens"]}
    assert pairs == {("AH", "SC"), ("SH", "AC")}


def test_two_copies_of_a_lethal_are_no_target(tmp_path: Path) -> None:
    folder = write_flock(tmp_path / "flock", CREEPERS, FREQUENCY, TOP.replace("Cp = 1", "Cp = 2"))
    ran = run_here("check", "--in", folder)
    out = " ".join(ran.out.split())
    assert ran.code == 3
    assert "birds with 2 copies of Cp (Creeper (short legs)) die or are crippled" in out
    assert "aim for 1 copy (carrier × non-carrier, for ever) or 0" in out


def test_a_single_copy_that_kills_is_no_target(tmp_path: Path) -> None:
    settings = f"[loci.Cp]\nlethal = [1, 2]\n{FREQUENCY}"
    ran = run_here("check", "--in", write_flock(tmp_path / "flock", CREEPERS, settings, TOP))
    out = " ".join(ran.out.split())
    assert ran.code == 3
    assert "birds with 1 copy of Cp (Creeper (short legs)) die or are crippled" in out
    assert "aim for 0; look at" in out


def test_check_reads_the_cautions_of_the_flock_s_loci(tmp_path: Path) -> None:
    folder = write_flock(tmp_path / "flock", CREEPERS, FREQUENCY, TOP)
    out = " ".join(run_here("check", "--in", folder).out.split())
    assert "Cautions: Cp (Creeper (short legs)): Two copies kill the embryo" in out
    assert "ask a veterinarian" in out
    document = run_here("check", "--in", folder, "--json").document
    assert [one["locus"] for one in document["cautions"]] == ["Cp"]


def test_check_is_silent_on_loci_that_hurt_nobody(tmp_path: Path) -> None:
    top = TOP.replace("Cp = 1", "O = 2")
    birds = [{key: cell for key, cell in one.items() if key != "Cp"} for one in CREEPERS]
    folder = write_flock(tmp_path / "flock", birds, "", top)
    assert "Cautions" not in run_here("check", "--in", folder).out


def test_alleles_of_one_locus_in_two_columns_are_a_fault(tmp_path: Path) -> None:
    birds = [{**one, "eWh": "wheaten", "eb": "partridge"} for one in CREEPERS]
    folder = write_flock(tmp_path / "flock", birds, "", TOP.replace("Cp = 1", "eWh = 2"))
    ran = run_here("check", "--in", folder)
    assert ran.code == 3
    assert "eWh and eb are alleles of one locus" in " ".join(ran.out.split())
