"""Each outside check says where its values come from, and each fact of the trade has a source.

``SOURCES.md`` has a row for every file of ``published/``, for every other test that sets the engine
beside another program or a text, and for every fact that the product relies on, with its value.
"""

from __future__ import annotations

import ast
import re
from dataclasses import astuple
from functools import cache
from typing import TYPE_CHECKING

import pytest
from pydantic import BaseModel

from matchmaker import scheme_settings, settings
from matchmaker.rebalance.clock import Waits
from matchmaker.section import Section
from tests.fact_values import PACKAGE, rows_of, value_of
from tests.sources import ELSEWHERE, FACTS, PUBLISHED, TESTS, cells_under, facts, sources

if TYPE_CHECKING:
    from collections.abc import Iterator

FILES = sorted(path.name for path in (TESTS / "published").glob("test_*.py"))

PEERS = re.compile(
    r"^\s*(?:import|from) (?:sgkit|msprime|tskit|pgmpy|ortools|networkx|scipy|pandas|icalendar|pulp"
    r"|pypdf|axe_playwright_python)\b"
    r"|import_module\(.(?:pgmpy|sgkit)",
    re.MULTILINE,
)
"""A test that imports one of these sets the engine beside it, or beside a text by means of it."""

CITED = re.compile(
    r"\((?:[A-Z][\w-]+(?:,? (?:and|&) [A-Z][\w-]+| et al\.?)?,? (?:1[89]\d\d|20[01]\d)\b)"
    r"|\b[A-Z]\w+(?: (?:and|&) [A-Z]\w+| et al\.)? (?:1[89]\d\d|20[01]\d)[,:;] "
    r"|from memory\)|no source"
)
"""A work named with its year, or the admission that there is none."""

SAYS_SO = {
    "unit/test_aims.py": "sentences of the product that name its own sources",
    "unit/test_closing.py": "rules of the roll-over of a folder: no outside value",
    "unit/test_page_doors.py": "words of the page that tests/published has sources for",
    "cli/test_loci.py": "sentences of the catalogue, which names its own sources",
    "unit/test_report_numbers.py": "how numbers are written",
    "unit/test_shared_forebears.py": "sentences on a source of birds",
    "cli/test_seasons.py": "words on a source of birds",
    "test_sources.py": "this file",
    "validation/page.py": "how a source is shortened",
    "published/crosses.py": "shared by files that have rows",
    "published/pedigrees.py": "shared by files that have rows",
}
"""Files in which a year or "source" is no outside check, and why."""


def test_files_and_rows_are_the_same() -> None:
    assert sorted(cells[0].strip("`") for cells in cells_under(PUBLISHED)) == FILES


@pytest.mark.parametrize("heading", [PUBLISHED, ELSEWHERE, FACTS])
def test_each_row_is_filled(heading: str) -> None:
    rows = cells_under(heading)
    assert len(rows) > 40
    for cells in rows:
        assert len(cells) == 5, cells
        assert all(cells), cells
    places = [cells[0] for cells in rows]
    assert len(places) == len(set(places))


@pytest.mark.parametrize("name", FILES)
def test_each_file_names_its_source_in_its_first_lines(name: str) -> None:
    text = (TESTS / "published" / name).read_text(encoding="utf-8")
    assert text.startswith('"""')
    row = sources()[f"published/{name}"]
    told, listed = (
        set(re.findall(r"\w{4,}", part.casefold()))
        for part in (text.split('"""')[1], f"{row.source} {row.read}")
    )
    assert len(told & listed) >= 2


def test_every_data_file_is_named_in_a_row() -> None:
    text = (TESTS / "SOURCES.md").read_text(encoding="utf-8")
    stems = {path.stem.split("_")[0] for path in (TESTS / "published" / "data").iterdir()}
    assert all(f"data/{stem}_" in text for stem in stems)


def _tests() -> Iterator[tuple[str, str]]:
    for path in sorted(TESTS.rglob("*.py")):
        yield path.relative_to(TESTS).as_posix(), path.read_text(encoding="utf-8")


def test_every_row_elsewhere_stands_for_a_file_that_names_what_it_is_beside() -> None:
    text = dict(_tests())
    for cells in cells_under(ELSEWHERE):
        name = cells[0].strip("`")
        assert name in text, f"{name} has a row and is no file"


def test_every_test_beside_another_program_has_a_row() -> None:
    missing = [name for name, text in _tests() if PEERS.search(text) and name not in sources()]
    assert missing == []


def test_every_test_that_names_a_work_has_a_row() -> None:
    named = [name for name, text in _tests() if CITED.search(text)]
    missing = [name for name in named if name not in sources() and name not in SAYS_SO]
    assert len(named) > 40
    assert missing == []


@pytest.mark.parametrize("fact", facts(), ids=lambda fact: f"{fact.file} {fact.name}")
def test_the_value_in_the_row_is_that_of_the_code(fact: object) -> None:
    _, _, value, *_ = astuple(fact)  # type: ignore[call-overload]
    assert value == value_of(fact.file, fact.name)  # type: ignore[attr-defined]


STATUSES = ("read", "own arithmetic", "own choice", "memory", "common practice, no source")


def test_each_fact_says_how_it_is_known() -> None:
    for fact in facts():
        assert any(word in fact.status for word in (*STATUSES, "how sure")), fact
        if fact.source == "none":
            assert not fact.status.startswith("read"), f"{fact.where} was read, but where?"


@cache
def _known() -> frozenset[tuple[str, str]]:
    return frozenset((fact.file, fact.name) for fact in facts())


@pytest.mark.parametrize("module", [settings, scheme_settings], ids=["settings", "scheme_settings"])
def test_every_default_of_the_settings_has_a_row(module: object) -> None:
    file = f"{module.__name__.rpartition('.')[2]}.py"  # type: ignore[attr-defined]
    models = [
        model
        for model in vars(module).values()
        if isinstance(model, type) and issubclass(model, Section) and model is not Section
    ]
    own = [model for model in models if model.__module__ == module.__name__]  # type: ignore[attr-defined]
    missing = [
        f"{model.__name__}.{name}"
        for model in own
        for name, field in model.model_fields.items()
        if not field.is_required() and _says_something(field.get_default(call_default_factory=True))
        and (file, f"{model.__name__}.{name}") not in _known()
    ]  # fmt: skip
    assert own
    assert missing == []


def _says_something(default: object) -> bool:
    return not (default in (None, "", (), {}) or isinstance(default, BaseModel))


ADMITS = re.compile(
    r"common practice|from memory|no source|\b(?:18|19|20)\d\d\b|Hutt|Damerow|Emery", re.IGNORECASE
)
OF_DAYS = re.compile(r"(^|_)(DAYS?|WEEKS|AGE)($|_)")
NO_FACTS = {
    ("genetics/kin/generations.py", "DAYS_PER_YEAR"): "the calendar",
    ("genetics/traits/contemporaries.py", "NO_DAY"): "stands for none",
    ("genetics/traits/doubts.py", "DAYS_NAMED"): "how much is told",
    ("intake/units.py", "_MASS"): "units by definition",
    ("intake/days.py", "_FIRST_DAY"): "the calendar of spreadsheets",
}
"""Constants that look like facts of the trade and are none, and why."""


NUMBERED = re.compile(r"^_?[A-Z][A-Z_0-9]*(?:: [^=\n]+)? = (?!re\.|['\"])[^\n]*\d", re.MULTILINE)
"""A constant with a digit on its first line."""


@cache
def _constants() -> tuple[tuple[str, str, str, str], ...]:
    """File, name, value and docstring of every constant of a number in the package."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        if not NUMBERED.search(text):
            continue
        body = ast.parse(text).body
        for node, after in zip(body, [*body[1:], None], strict=True):
            if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
                continue
            target = node.targets[0] if isinstance(node, ast.Assign) else node.target
            told = after.value if isinstance(after, ast.Expr) else None
            words = told.value if isinstance(told, ast.Constant) else ""
            if isinstance(target, ast.Name):
                value = ast.unparse(node.value)
                file = path.relative_to(PACKAGE).as_posix()
                found.append((file, target.id, value, str(words)))
    return tuple(found)


def test_every_constant_that_is_a_fact_of_the_trade_has_a_row() -> None:
    """One that names a source or says there is none, or that counts days."""
    facts_of_code = [
        (file, name)
        for file, name, value, told in _constants()
        if name.isupper()
        and re.search(r"\d", value)
        and not value.startswith(("'", "re."))
        and (ADMITS.search(told) or OF_DAYS.search(name) or "timedelta(" in value)
    ]
    assert len(facts_of_code) > 50
    assert [one for one in facts_of_code if one not in _known() and one not in NO_FACTS] == []
    assert set(NO_FACTS) <= {(file, name) for file, name, *_ in _constants()}


@pytest.mark.parametrize(
    ("table", "sure"),
    [
        ("genetics/loci/loci.csv", "confidence"),
        ("genetics/loci/linkage.csv", "confidence"),
        ("genetics/loci/not_one_gene.csv", "confidence"),
        ("genetics/shares/chicken_map.csv", "confidence"),
        ("genetics/traits/published_traits.csv", "sure"),
    ],
)
def test_every_row_of_a_table_of_values_names_its_source_and_how_sure_it_is(
    table: str, sure: str
) -> None:
    for row in rows_of(PACKAGE / table):
        assert row["source"], row
        assert row[sure] in {"high", "medium", "low", "good", "fair", "little"}, row


def test_each_trait_with_published_figures_has_a_row() -> None:
    table = "genetics/traits/published_traits.csv"
    assert {row["name"] for row in rows_of(PACKAGE / table)} == {
        name for file, name in _known() if file == table
    }


def test_waits_unless_told_are_those_of_the_settings() -> None:
    limits = settings.LimitSettings()
    assert Waits() == Waits(clean_out=limits.clean_out_days, eggs_after=limits.eggs_after_days)


SAME = [
    ("a fertile pen", ("pairs/value.py DAYS_TO_FERTILE", "tables/pen_up.py WAIT")),
    ("an old cock", ("plan/posing/pose.py OLD_DAYS", "rebalance/chances.py OLD")),
    ("storage", ("season/lots.py STORED_DAYS", "rebalance/eggs.py SET_WITHIN")),
    ("graded at half a year", ("pairs/chances.py GRADING_DAYS", "season/dates.py IN_LAY_DAYS")),
]


@pytest.mark.parametrize(("fact", "places"), SAME)
def test_a_fact_that_stands_in_two_places_is_the_same(fact: str, places: tuple[str, str]) -> None:
    one, other = (value_of(*place.split(" ")) for place in places)
    assert one == other, fact
