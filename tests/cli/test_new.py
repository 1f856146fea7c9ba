"""Starting a flock folder: by options, from an example, and by answering questions."""

from __future__ import annotations

import signal
from typing import TYPE_CHECKING

import pytest

from matchmaker.start import EXAMPLES
from tests.cli.run import EXAMPLES_FOLDER, LIMIT, contents, run, run_here
from tests.cli.terminal import at_a_terminal

if TYPE_CHECKING:
    from pathlib import Path

OPTIONS = (
    "--breed=sussex",
    "--trait=O",
    "--copies=2",
    "--lines=Alder, Birch",
    "--dates=day-first",
)
TABLES = {"birds.csv", "matchmaker.toml", "pens.csv", "scores.csv"}


def _configuration(folder: Path) -> str:
    return (folder / "matchmaker.toml").read_text(encoding="utf-8")


def test_options_make_a_folder_without_a_question(tmp_path: Path) -> None:
    ran = run("new", tmp_path / "flock", *OPTIONS)
    assert (ran.code, ran.out) == (0, "")
    assert set(contents(tmp_path / "flock")) == TABLES
    assert "then: matchmaker check --in" in ran.err
    text = _configuration(tmp_path / "flock")
    for part in ("target = {O = 2}", 'recurrent = "sussex"', "[lines.Birch]", '"day-first"'):
        assert part in text


def test_the_new_folder_lacks_only_its_birds_and_pens(tmp_path: Path) -> None:
    run_here("new", tmp_path / "flock", *OPTIONS)
    ran = run_here("check", "--in", tmp_path / "flock", "--json")
    assert ran.code == 3
    assert [(one["kind"], one["file"]) for one in ran.document["faults"]] == [
        ("no-rows", "birds.csv"),
        ("no-rows", "pens.csv"),
    ]


@pytest.mark.parametrize("options", [OPTIONS, ("--like", "skarn-farm")])
def test_a_folder_with_a_blank_is_quoted_in_what_to_type_next(
    tmp_path: Path, options: tuple[str, ...]
) -> None:
    ran = run_here("new", "my flock", *options, cwd=tmp_path)
    assert ran.err.splitlines()[-1].startswith("Made my flock. Next: ")
    assert ran.err.endswith('--in "my flock"\n')


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_is_copied_and_is_sound(tmp_path: Path, name: str) -> None:
    assert run_here("new", tmp_path / "flock", "--like", name).code == 0
    assert contents(tmp_path / "flock") == contents(EXAMPLES_FOLDER / name)
    assert run_here("check", "--in", tmp_path / "flock").code == 0


@pytest.mark.parametrize("arguments", [("--like", "holm-fen"), OPTIONS])
def test_a_folder_that_holds_anything_is_left_alone(
    tmp_path: Path, arguments: tuple[str, ...]
) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    ran = run_here("new", tmp_path, *arguments)
    assert ran.code == 6
    assert "is not empty" in ran.err
    assert set(contents(tmp_path)) == {"mine.txt"}


def test_without_a_terminal_the_missing_options_are_named(tmp_path: Path) -> None:
    ran = run_here("new", tmp_path / "flock", "--breed=sussex")
    assert ran.code == 2
    assert "give --trait, --copies, --lines, --dates, or --like NAME" in ran.err
    assert not (tmp_path / "flock").exists()


@pytest.mark.parametrize(
    ("option", "said"),
    [
        ("--copies=3", "copies are 0, 1 or 2, not 3"),
        ("--dates=swedish", "--dates is one of iso, day-first, month-first"),
        ("--trait=qqqq", "no locus is known for 'qqqq'"),
    ],
)
def test_an_option_without_sense_makes_no_folder(tmp_path: Path, option: str, said: str) -> None:
    others = [one for one in OPTIONS if one.split("=")[0] != option.split("=", maxsplit=1)[0]]
    ran = run_here("new", tmp_path / "flock", *others, option)
    assert ran.code == 2
    assert said in ran.err
    assert not (tmp_path / "flock").exists()


def test_answers_beside_an_example_are_refused(tmp_path: Path) -> None:
    ran = run_here("new", tmp_path / "flock", "--like", "holm-fen", "--copies", "0")
    assert ran.code == 2
    assert "--like takes no --copies beside it" in ran.err


def test_a_double_dose_that_harms_is_warned_of(tmp_path: Path) -> None:
    """Creeper: the locus table says where its caution comes from."""
    others = [one for one in OPTIONS if not one.startswith("--trait")]
    ran = run_here("new", tmp_path / "flock", *others, "--trait=Cp")
    assert ran.code == 0
    assert "Caution: 2 copies of Cp" in ran.err
    assert "veterinarian" in ran.err


def test_the_five_questions_make_a_folder(tmp_path: Path) -> None:
    with at_a_terminal("new", tmp_path / "flock") as terminal:
        terminal.expect("Which breed shall the flock be in the end")
        terminal.send("\n")
        terminal.expect("A name is needed here")
        terminal.send("sussex\n")
        terminal.expect("Which trait do you bring in")
        terminal.send("qqqq\n")
        terminal.expect("with a section [loci.NAME]")
        terminal.expect("Which trait do you bring in")
        terminal.send("blue eggs\n")
        terminal.expect("1  Blue eggshell (O)")
        terminal.expect("Which of these (0 for none of them) [1]")
        terminal.send("\n")
        terminal.expect("Copies [2]")
        terminal.send("7\n")
        terminal.expect("Copies are 0, 1 or 2, not '7'.")
        terminal.expect("Copies [2]")
        terminal.send("1\n")
        terminal.expect("A line is a family kept going beside the others")
        terminal.expect("Names of your lines, with commas")
        terminal.send("North, South, North\n")
        terminal.expect("How do you write dates")
        terminal.send("\n")
        terminal.expect("Made ")
        assert terminal.process.wait(LIMIT) == 0
    text = _configuration(tmp_path / "flock")
    assert 'recurrent = "sussex"' in text
    assert "target = {O = 1}" in text
    assert (text.count("[lines.North]"), text.count("[lines.South]")) == (1, 1)
    assert 'dates = "iso"' in text


def test_what_is_given_is_not_asked(tmp_path: Path) -> None:
    given = [one for one in OPTIONS if not one.startswith("--dates")]
    with at_a_terminal("new", tmp_path / "flock", *given) as terminal:
        terminal.expect("How do you write dates")
        terminal.send("month-first\n")
        terminal.expect("Made ")
        assert terminal.process.wait(LIMIT) == 0
    assert '"month-first"' in _configuration(tmp_path / "flock")


END_OF_INPUT = "\x04"


@pytest.mark.parametrize("break_off", ["interrupt", "end of input"])
def test_breaking_off_at_a_question_makes_nothing(tmp_path: Path, break_off: str) -> None:
    with at_a_terminal("new", tmp_path / "flock") as terminal:
        terminal.expect("Which breed shall the flock be in the end: ")
        if break_off == "interrupt":
            terminal.process.send_signal(signal.SIGINT)
        else:
            terminal.send(END_OF_INPUT)
        terminal.expect("Interrupted.")
        assert terminal.process.wait(LIMIT) == 130
    assert not (tmp_path / "flock").exists()
