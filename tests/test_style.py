"""What the style rules ask for and the linters do not measure."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import matchmaker

if TYPE_CHECKING:
    from collections.abc import Iterator

PACKAGE = Path(matchmaker.__file__).parent
PROJECT = PACKAGE.parent
MODULES = sorted(PACKAGE.rglob("*.py"))
LINES_MAX = 350
BODY_MAX = 45

TEXT = {".py", ".md", ".toml", ".csv", ".css", ".js"}
TEXTS = sorted(
    path
    for place in ("matchmaker", "tests", "examples")
    for path in (PROJECT / place).rglob("*")
    if path.suffix in TEXT and path != Path(__file__)
)
TEXTS += [path for name in ("README.md", "DEVELOPERS.md") if (path := PROJECT / name).exists()]
BANNED = re.compile(r"\b(TO" r"DO|FIX" r"ME|XXX|NotImplemented" r"Error)\b")
"""Marks of unfinished places, written here so that the search does not find itself."""

WHOLE_FOLDER = {"Flock", "FolderTables", "Study"}
"""A function that takes one of these shows its use in the unit tests: a doctest would be long."""


@cache
def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def functions(path: Path) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Functions of a module and methods of its classes, not those inside functions."""
    for node in parsed(path).body:
        members = node.body if isinstance(node, ast.ClassDef) else [node]
        for member in members:
            if isinstance(member, ast.FunctionDef):
                yield node.name if isinstance(node, ast.ClassDef) else "", member


def body_lines(function: ast.FunctionDef) -> int:
    """Lines of a function without its docstring."""
    whole = (function.end_lineno or 0) - function.lineno + 1
    if ast.get_docstring(function) is None:
        return whole
    first = function.body[0]
    return whole - ((first.end_lineno or 0) - first.lineno + 1)


def takes_a_folder(function: ast.FunctionDef) -> bool:
    """Whether a parameter is a whole flock or all the tables of a folder."""
    return any(
        isinstance(argument.annotation, ast.Name) and argument.annotation.id in WHOLE_FOLDER
        for argument in function.args.args
    )


def name_of(path: Path) -> str:
    return path.relative_to(PROJECT).as_posix()


def test_no_module_is_too_long() -> None:
    lines = {name_of(path): len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES}
    assert len(lines) > 300
    assert {name: count for name, count in lines.items() if count > LINES_MAX} == {}


def test_no_function_is_too_long() -> None:
    long = {
        f"{name_of(path)}: {found.name}": lines
        for path in MODULES
        for _, found in functions(path)
        if (lines := body_lines(found)) > BODY_MAX
    }
    assert long == {}


def test_every_public_function_says_what_it_does() -> None:
    silent = [
        f"{name_of(path)}: {owner or 'a function'} {found.name}"
        for path in MODULES
        for owner, found in functions(path)
        if not owner.startswith("_")
        and not found.name.startswith("_")
        and ast.get_docstring(found) is None
    ]
    assert silent == []


def test_every_public_function_of_genetics_shows_its_use() -> None:
    without = [
        f"{name_of(path)}: {found.name}"
        for path in MODULES
        if (PACKAGE / "genetics") in path.parents
        for owner, found in functions(path)
        if not owner
        and not found.name.startswith("_")
        and not takes_a_folder(found)
        and ">>>" not in (ast.get_docstring(found) or "")
    ]
    assert without == []


def test_no_text_holds_a_word_that_may_not_stand() -> None:
    found = {
        name_of(path): BANNED.search(path.read_text(encoding="utf-8", errors="replace"))
        for path in TEXTS
    }
    assert len(found) > 900
    assert {name: one[0] for name, one in found.items() if one} == {}


@pytest.mark.parametrize("word", ["# TO-DO: later", "raise NotImplemented-Error"])
def test_the_search_for_words_finds_them(word: str) -> None:
    assert BANNED.search(word.replace("-", ""))
