"""The command among other programs: streams, exit codes, encodings, widths, signals."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import time
from pathlib import Path

import pytest

from tests.builders import HOME, HOME_SEEN, Row, bird, cock, dna, hen, write_flock
from tests.cli.readme import timeless
from tests.cli.run import LIMIT, MATCHMAKER, Ran, environment, example, read_rows, run, run_here

COMMANDS = ("check", "flock", "pairs", "plan")
ALONE = ("flock", "plan")
"""Of these, libraries in C do the sums: only a process of its own shows what they print."""

ESCAPE = "\x1b"


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_flock(tmp_path_factory.mktemp("small") / "flock", HOME, seen=HOME_SEEN)


@pytest.fixture(scope="module")
def fen(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return example("holm-fen", tmp_path_factory.mktemp("fen") / "flock")


@pytest.fixture(scope="module")
def fen_screens(fen: Path) -> dict[str, Ran]:
    return {command: run_here(command, "--in", fen, COLUMNS="80") for command in COMMANDS}


@pytest.mark.parametrize("command", COMMANDS)
def test_a_document_is_all_there_is_on_standard_output(small: Path, command: str) -> None:
    ran = (run if command in ALONE else run_here)(command, "--in", small, "--json")
    assert ran.code == 0
    assert json.loads(ran.out)["schema"] == f"matchmaker/{command}/1"


def test_the_solver_says_nothing_on_standard_output(small: Path) -> None:
    ran = run("plan", "--in", small)
    assert ran.lines[0] == "Pens for 2027, to be made up on 1 February 2027"
    assert "Running HiGHS" not in ran.out


def test_what_to_do_next_is_a_message_and_no_result(small: Path) -> None:
    ran = run_here("check", "--in", small)
    assert ran.err == f"Next: matchmaker plan --in {small}\n"
    assert "Next:" not in ran.out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("plan", "--nonsense"), "No such option: --nonsense"),
        (("paln",), "No such command 'paln'. Did you mean 'plan'?"),
        (("check", "--in", "nowhere"), "nowhere"),
        (("new", "x", "--like", "elm"), "there is no example elm"),
    ],
)
def test_wrong_usage_is_code_2(tmp_path: Path, arguments: tuple[str, ...], said: str) -> None:
    ran = run_here(*arguments, cwd=tmp_path)
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert "Traceback" not in ran.err


def test_an_unknown_band_is_wrong_usage_and_the_nearest_is_offered(fen: Path) -> None:
    ran = run_here("flock", "S26004", "--in", fen)
    assert ran.code == 2
    assert "no bird S26004 is in the tables. Did you mean S26-004?" in ran.err


def test_a_folder_with_settings_alone_names_its_missing_tables(tmp_path: Path) -> None:
    (tmp_path / "matchmaker.toml").write_text(
        'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}'
    )
    ran = run_here("plan", "--in", tmp_path)
    assert (ran.code, ran.out) == (3, "")
    assert "birds.csv: the folder has no table of birds" in ran.err


def test_lines_to_be_copied_stay_lines(tmp_path: Path) -> None:
    (tmp_path / "birds.csv").write_text("bird,sex,sire,dam\n")
    lines = [line.strip() for line in run_here("check", "--in", tmp_path).lines]
    at = lines.index("season = 2027")
    assert lines[at : at + 3] == ["season = 2027", 'recurrent = "sussex"', "target = {O = 2}"]


def test_a_reader_that_goes_away_is_no_accident(fen: Path) -> None:
    with subprocess.Popen(
        [MATCHMAKER, "pairs", "--in", fen],
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        assert process.stdout.readline().startswith(b"Hen ")
        process.stdout.close()
        said = process.stderr.read().decode("utf-8")
        process.wait(LIMIT)
    assert "Traceback" not in said
    assert "Exception ignored" not in said


def test_an_interrupt_is_code_130(fen: Path) -> None:
    with subprocess.Popen(
        [MATCHMAKER, "plan", "--in", fen],
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        wait_until_busy(process.pid)
        process.send_signal(signal.SIGINT)
        out, said = process.communicate(timeout=LIMIT)
    assert process.returncode == 130
    assert (out, said) == (b"", b"Interrupted.\n")


def wait_until_busy(pid: int, seconds: float = 0.4) -> None:
    """Until the process has used so much of the processor: reading by 0.4 s, solving by 3."""
    ticks = os.sysconf("SC_CLK_TCK")
    for _ in range(3000):
        stat = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8")
        fields = stat.rsplit(")", 1)[1].split()
        if (int(fields[11]) + int(fields[12])) / ticks >= seconds:
            return
        time.sleep(0.01)


def test_a_terminal_without_the_letters_is_no_accident(small: Path) -> None:
    done = subprocess.run(
        [MATCHMAKER, "plan", "--in", small],
        env=environment(PYTHONIOENCODING="cp1252"),
        capture_output=True,
        timeout=LIMIT,
        check=False,
    )
    assert (done.returncode, b"Traceback" in done.stderr) == (0, False)
    assert "Pen " in done.stdout.decode("cp1252")


def test_a_plain_locale_is_no_accident(small: Path) -> None:
    ran = run("check", "--in", small, LC_ALL="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0")
    assert ran.code == 0
    assert "Traceback" not in ran.err


def test_documents_are_utf8_whatever_the_terminal(tmp_path: Path) -> None:
    folder = write_flock(tmp_path / "flock", [*HOME, cock("Žluťas")], seen=HOME_SEEN)
    ran = run("flock", "--in", folder, "--json", PYTHONIOENCODING="cp1252")
    assert "Žluťas" in {one["bird"] for one in ran.document["birds"]}


def test_no_codes_of_a_terminal_in_a_pipe(small: Path) -> None:
    assert ESCAPE not in run("check", "--in", small).out


def test_colour_can_be_forced(small: Path) -> None:
    assert ESCAPE in run("check", "--in", small, FORCE_COLOR="1").out


@pytest.mark.parametrize("command", COMMANDS)
def test_no_line_is_wider_than_eighty_columns(fen_screens: dict[str, Ran], command: str) -> None:
    assert fen_screens[command].code == 0
    assert {line for line in fen_screens[command].lines if len(line) > 80} == set()


def test_every_living_bird_has_its_whole_band_on_the_screens(
    fen: Path, fen_screens: dict[str, Ran]
) -> None:
    living = {
        row["bird"]
        for row in read_rows(fen / "birds.csv")
        if row["status"] in {"breeder", "young", "spare", "quarantine"}
    }
    assert len(living) > 60
    assert living <= _words(fen_screens["flock"])
    assert living <= _words(fen_screens["plan"])


def _words(ran: Ran) -> set[str]:
    return set(re.findall(r"\b[A-Z]\d\d(?:-\d{3})?\b", ran.out))


@pytest.mark.parametrize(("command", "record"), [("flock", "Bird: C12"), ("plan", "Hen: A25-003")])
def test_a_narrow_screen_gets_records_with_whole_bands(
    fen: Path, fen_screens: dict[str, Ran], command: str, record: str
) -> None:
    narrow = run(command, "--in", fen, COLUMNS="40")
    assert any(line.startswith(f"{record}; ") for line in narrow.lines)
    assert _words(narrow) == _words(fen_screens[command])
    assert max(map(len, narrow.lines)) <= 40


def test_percent_signs_stay_with_their_numbers(fen_screens: dict[str, Ran]) -> None:
    starts = [line for ran in fen_screens.values() for line in ran.lines if line[:6].strip() == "%"]
    assert starts == []
    assert not any(re.match(r"\s*%", line) for ran in fen_screens.values() for line in ran.lines)


ODD = ("[blue]", "<b>7</b>", "0017", "1E5", "=A1")
"""Bands that markup, a reader that guesses types or a spreadsheet would eat."""


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Path:
    rows: list[Row] = [
        *HOME,
        *(hen(band, "Alder", "sussex:0.5|araucana:0.5") for band in ODD),
        bird("NA", "hen", "Pure", "sussex"),
    ]
    seen = [*HOME_SEEN, *(dna(band, "O", 1) for band in ODD)]
    return write_flock(tmp_path_factory.mktemp("odd") / "flock", rows, seen=seen)


@pytest.mark.parametrize("command", ["flock", "pairs", "plan"])
def test_odd_bands_survive_the_screen(odd: Path, command: str) -> None:
    out = run_here(command, "--in", odd).out
    assert all(band in out for band in ODD)


def test_odd_bands_survive_the_document_and_the_csv_file(odd: Path, tmp_path: Path) -> None:
    file = tmp_path / "flock.csv"
    ran = run_here("flock", "--in", odd, "--json", "--csv", file)
    assert {one["bird"] for one in ran.document["birds"]} >= {*ODD, "NA"}
    assert {row["bird"].removeprefix("'") for row in read_rows(file)} >= {*ODD, "NA"}


def test_odd_bands_survive_being_written_and_read_as_the_standing_plan(
    odd: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "flock"
    folder.mkdir()
    for file in odd.iterdir():
        (folder / file.name).write_bytes(file.read_bytes())
    first = run_here("plan", "--in", folder, "--write", "--json").document
    again = run_here("plan", "--in", folder, "--json").document
    assert again["changes"] == []
    assert again["pens"] == first["pens"]


def test_an_unknown_bird_is_refused_with_where_to_look(fen: Path) -> None:
    ran = run_here("flock", "C12x", "--in", fen)
    assert (ran.code, ran.out) == (2, "")
    said = " ".join(ran.err.split())
    assert "no bird C12x is in the tables. Did you mean C12? matchmaker flock lists" in said


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", "--in", "tarn"),
        ("pairs", "--in", "tarn", "--json"),
        ("plan", "--in", "nowhere"),
        ("plan", "--in", "tarn", "--json", "--matings", 99),
        ("plan", "--no-such-option"),
        ("flock", "H24-001", "--in", "tarn"),
    ],
    ids=lambda arguments: " ".join(map(str, arguments)),
)
def test_a_command_answered_in_the_tests_own_process_says_the_same(
    tmp_path: Path, arguments: tuple[object, ...]
) -> None:
    example("tarn-croft", tmp_path / "tarn")
    real, here = run(*arguments, cwd=tmp_path), run_here(*arguments, cwd=tmp_path)
    assert (here.code, timeless(here.out)) == (real.code, timeless(real.out))
    assert timeless(here.err) == timeless(real.err)
