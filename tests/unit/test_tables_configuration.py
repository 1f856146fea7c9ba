from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from matchmaker.tables.configuration import (
    EXAMPLE,
    Configuration,
    missing_configuration,
    read_configuration,
)
from matchmaker.tables.toml_lines import key_lines
from tests.unit.tables_helpers import SETTINGS, place, places
from tests.unit.tables_helpers import read as read_tables

if TYPE_CHECKING:
    from pathlib import Path

FULL = """# the season
season = 2027
"recurrent" = 'sussex'  # [not a table]
target = {O = 2, P = 0}

[limits]
kinship_max = 0.1
hens_per_cock.light = 9

[traits."egg = weight"]
unit = '''
season = 1
[lines.Ghost]
'''
optimum = 60.5

[[matings]]
hens = [
  "Alder",  # a = b
  "Birch",
]
cocks = "Alder"
chicks = "Alder"
purpose = "backcross"

[ matings.keep ]
O = [1, 2]

[[matings]]
hens = "Birch"
cocks = "Birch"
chicks = "Birch"
purpose = "hold"
"""


def read(text: str) -> Configuration:
    return read_configuration(text.encode())


def only_words(configuration: Configuration) -> tuple[str, str]:
    (fault,) = configuration.faults
    return fault.problem, fault.mend


def test_the_smallest_configuration() -> None:
    configuration = read(EXAMPLE)
    assert configuration.faults == ()
    assert configuration.settings is not None
    assert configuration.settings.target == {"O": 2}


def test_the_example_is_shown_where_there_is_none() -> None:
    (fault,) = missing_configuration().faults
    assert place(fault) == ("no-configuration", "matchmaker.toml", None, None, "")
    assert EXAMPLE in fault.mend


def test_a_configuration_of_every_form_is_read() -> None:
    configuration = read(FULL)
    assert configuration.faults == ()
    assert configuration.hints.units == {"egg = weight": "season = 1\n[lines.Ghost]\n"}


@pytest.mark.parametrize(
    ("key", "line"),
    [
        ("season", 2),
        ("recurrent", 3),
        ("target", 4),
        ("limits", 6),
        ("limits.kinship_max", 7),
        ("limits.hens_per_cock", 8),
        ("limits.hens_per_cock.light", 8),
        ("traits.egg = weight", 10),
        ("traits.egg = weight.unit", 11),
        ("traits.egg = weight.optimum", 15),
        ("matings.0", 17),
        ("matings.0.hens", 18),
        ("matings.0.cocks", 22),
        ("matings.0.keep", 26),
        ("matings.0.keep.O", 27),
        ("matings.1", 29),
        ("matings.1.purpose", 33),
    ],
)
def test_lines_of_keys(key: str, line: int) -> None:
    assert key_lines(FULL)[key] == line


def test_what_stands_inside_a_text_is_no_key() -> None:
    assert not [key for key in key_lines(FULL) if "Ghost" in key]


def test_lines_are_the_same_with_both_line_ends() -> None:
    assert key_lines(FULL.replace("\n", "\r\n")) == key_lines(FULL)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("dates = 'dmy'\n", ("bad-setting", "matchmaker.toml", 4, "dates", "dmy")),
        ("colour = 1\n", ("unknown-setting", "matchmaker.toml", 4, "colour", "1")),
        (
            "[limits]\nkinship_max = 2\n",
            ("bad-setting", "matchmaker.toml", 5, "limits.kinship_max", "2"),
        ),
        (
            "[limits]\n\nhens_per_cock = {light = 0}\n",
            ("bad-setting", "matchmaker.toml", 6, "limits.hens_per_cock.light", "0"),
        ),
        (
            "[limits.hens_per_cock]\nlite = 3\n",
            ("unknown-setting", "matchmaker.toml", 5, "limits.hens_per_cock.lite", "3"),
        ),
        (
            "[traits.weight]\nweight = 'much'\n",
            ("bad-setting", "matchmaker.toml", 5, "traits.weight.weight", "much"),
        ),
        (
            "[traits.w]\ndirection = 'up'\noptimum = 2\n",
            ("bad-setting", "matchmaker.toml", 6, "traits.w.optimum", "2"),
        ),
        ("breeds = 3\n", ("bad-setting", "matchmaker.toml", 4, "breeds", "3")),
        (
            "[lines.Alder]\nstep = 1\n",
            ("bad-setting", "matchmaker.toml", 5, "lines.Alder.step", "1"),
        ),
        (
            "[year]\npen_up = 20270201\n",
            ("bad-setting", "matchmaker.toml", 5, "year.pen_up", "20270201"),
        ),
        (
            "[year]\npen_up = '2027-02-30'\n",
            ("bad-setting", "matchmaker.toml", 5, "year.pen_up", "2027-02-30"),
        ),
        (
            "[year]\nincubator_per_week = 2.5\n",
            ("bad-setting", "matchmaker.toml", 5, "year.incubator_per_week", "2.5"),
        ),
        (
            "[year]\nfertility = true\n",
            ("bad-setting", "matchmaker.toml", 5, "year.fertility", "true"),
        ),
        (
            "[lines.A]\nimportance = inf\n",
            ("bad-setting", "matchmaker.toml", 5, "lines.A.importance", "inf"),
        ),
        (
            "[sources.Hill]\n",
            ("missing-setting", "matchmaker.toml", 4, "sources.Hill.base", ""),
        ),
        (
            "[[matings]]\nhens = []\ncocks = 'A'\nchicks = 'A'\npurpose = 'hold'\n",
            ("bad-setting", "matchmaker.toml", 5, "matings, entry 1, hens", "[]"),
        ),
    ],
)
def test_each_fault_in_its_place(
    text: str, found: tuple[str, str, int | None, str | None, str]
) -> None:
    configuration = read(SETTINGS + text)
    assert places(configuration.faults) == [found]
    assert configuration.settings is None


@pytest.mark.parametrize(
    ("text", "problem", "mend"),
    [
        ("[limits]\nkinshipmax = 0.1\n", "there is no key kinshipmax", "did you mean kinship_max?"),
        (
            "[sources.Hill]\nbase = 0.1\nx = 1\n",
            "there is no key x",
            "the keys here are base",
        ),
        ("[breeds.a]\nclas = 'heavy'\n", "there is no key clas", "did you mean class?"),
        (
            "[[matings]]\nhens='a'\ncocks='a'\nchicks='a'\npurpose='hold'\nform=1\n",
            "there is no key form",
            "did you mean from?",
        ),
        (
            "dates = 'dmy'\n",
            "the word is not one of those allowed",
            'write "iso", "day-first" or "month-first"',
        ),
        (
            "[limits]\nkinship_max = 2\n",
            "the value must be at most 1.0",
            "write a value that is at most 1.0",
        ),
        (
            "[limits]\nkinship_max = 'x'\n",
            "a number is wanted here",
            "write a number with a decimal point",
        ),
        (
            "[limits]\nhens_per_cock = 8\n",
            "a group of keys is wanted here",
            (
                "write under a line [limits.hens_per_cock] those you need of: light, medium, "
                "heavy, bantam, cockerel, old"
            ),
        ),
    ],
)
def test_words_of_faults(text: str, problem: str, mend: str) -> None:
    assert only_words(read(SETTINGS + text)) == (problem, mend)


def test_no_fault_speaks_as_a_library() -> None:
    text = (
        "season = 'x'\ntarget = 3\nbreeds = {a = 1}\n"
        "[limits]\nkinship_max = []\n[year]\npen_up = 1.5\n"
    )
    said = " ".join(fault.problem + fault.mend for fault in read(text).faults)
    assert len(read(text).faults) == 6
    assert not re.search(r"[Ii]nput|valid |pydantic|dictionary|instance|parse", said)


def test_a_mating_keeps_copies() -> None:
    text = "[[matings]]\nhens='a'\ncocks='a'\nchicks='a'\npurpose='hold'\nkeep={O=[5]}\n"
    problem, _ = only_words(read(SETTINGS + text))
    assert problem == "keep.O lists what is no number of copies"


@pytest.mark.parametrize(
    ("content", "row"),
    [
        (b"season = 2027\nrecurrent = sussex\n", 2),
        (b"season = 2027\nseason = 2028\n", 2),
        (b"[limits\n", 1),
        (b"season = \xff\n", None),
    ],
)
def test_a_file_that_is_no_toml_is_one_fault(content: bytes, row: int | None) -> None:
    (fault,) = read_configuration(content).faults
    assert (fault.kind, fault.row) == ("unreadable-file", row)


def test_hints_survive_faults_elsewhere() -> None:
    text = "season = 2027\ndates = 'day-first'\ntarget = {O = 7}\n[loci.X]\nfoo = 1\n"
    hints = read(text).hints
    assert (hints.season, hints.dates, sorted(hints.loci)) == (2027, "day-first", ["O", "X"])


def test_a_byte_order_mark_is_no_fault() -> None:
    assert read_configuration(b"\xef\xbb\xbf" + SETTINGS.encode()).faults == ()


def test_a_file_that_cannot_be_read_is_the_only_fault(tmp_path: Path) -> None:
    """Its dates are day-first, which nobody can know who cannot read it."""
    settings = 'season = 2027\ndates = "day-first"\n[traits.Egg weight]\n'
    rows = "bird,sex,hatched\nC1,cock,31/03/2025\nC1,hen,x\n"
    (fault,) = read_tables(tmp_path, settings=settings, birds=rows).faults
    assert (fault.kind, fault.file, fault.row) == ("unreadable-file", "matchmaker.toml", 3)
    assert fault.mend.endswith('[traits."Egg weight"]')
