"""Every module imports only from its own layer and the layers below it."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

import matchmaker

LAYERS = (
    "tables",
    "intake",
    "flock",
    "genetics",
    "pairs",
    "plan",
    "explain",
    "rebalance",
    "season",
    "hatch",
    "grade",
    "route",
    "closing",
    "ahead",
    "top",
    "mends",
    "taking_in",
    "report",
    "cli",
)
"""From the bottom up; the modules beside the packages stand below them or in ``top``."""

PLAN_ROOMS = (
    "posing",
    "arithmetic",
    "program",
    "solvers",
    "searching",
    "nearly_best",
    "each_pair",
    "no_plan",
    "season",
    "bird_tests",
)
"""The rooms of ``plan/`` from the bottom up: the same rule holds among them."""

BOTTOM = ("errors", "section", "scheme_settings", "settings", "tolerance")
TOP = (
    *("verbs", "judging", "checking", "plan_options", "looking", "looking_further"),
    *("next_season", "reporting", "start"),
)
EXEMPT = ("__init__", "__main__")

FENCES = {
    "pulp": ("plan/solvers/",),
    "highspy": ("plan/solvers/",),
    "typer": ("cli/",),
    "rich": ("report/", "cli/"),
    "networkx": ("flock/",),
    "scipy": ("genetics/",),
    "pydantic": (
        *("section.py", "scheme_settings.py", "settings.py"),
        *("tables/configuration.py", "tables/refused_settings.py"),
    ),
    "icalendar": ("report/",),
    "jinja2": ("report/page/",),
    "pygal": ("report/page/",),
    "dask": (),
    "distributed": ("ahead/cluster.py",),
    "python_calamine": ("tables/",),
    "xlsxwriter": (),
    "filelock": ("tables/",),
}
ROOT = Path(matchmaker.__file__).parent
PATHS = sorted(
    path for path in ROOT.rglob("*.py") if not (path.parent == ROOT and path.stem in EXEMPT)
)
NAMES = [path.relative_to(ROOT).as_posix() for path in PATHS]


def source_of(name: str) -> str:
    """Text of a module."""
    return (ROOT / name).read_text(encoding="utf-8")


@cache
def imports_of(source: str) -> frozenset[str]:
    """Dotted names of all imports, those under ``TYPE_CHECKING`` and inside functions too."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0
            found.add(str(node.module))
            if node.module == "matchmaker":
                found.update(f"matchmaker.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
    return frozenset(found)


def layer_of(name: str) -> str:
    """Layer of a module or package directly in ``matchmaker``."""
    return "top" if name in TOP else name


def allowed_below(layer: str) -> set[str]:
    """What a module of a layer may import from."""
    if layer in BOTTOM:
        return {*BOTTOM}
    return {*BOTTOM, *LAYERS[: LAYERS.index(layer) + 1]}


def too_high(name: str, source: str) -> set[str]:
    """Layers that a module imports from although they stand above it."""
    dotted = [found.split(".") for found in imports_of(source)]
    inside = {
        layer_of(parts[1])
        for parts in dotted
        if parts[0] == "matchmaker" and len(parts) > 1 and not parts[1].startswith("__")
    }
    return inside - allowed_below(layer_of(name.partition("/")[0].removesuffix(".py")))


def too_high_in_plan(name: str, source: str) -> set[str]:
    """Rooms of ``plan/`` that a module of one of them imports from although they stand above it."""
    dotted = [found.split(".") for found in imports_of(source)]
    inside = {parts[2] for parts in dotted if parts[:2] == ["matchmaker", "plan"]}
    return inside - {*PLAN_ROOMS[: PLAN_ROOMS.index(name.split("/")[1]) + 1]}


def outside_fences(name: str, source: str) -> set[str]:
    """Fenced packages that a module imports outside their fence."""
    packages = {found.split(".")[0] for found in imports_of(source)}
    return {package for package in packages & FENCES.keys() if not name.startswith(FENCES[package])}


def test_imports_point_downward() -> None:
    assert len(NAMES) > 300
    assert {name: found for name in NAMES if (found := too_high(name, source_of(name)))} == {}


def test_imports_among_the_rooms_of_plan_point_downward() -> None:
    modules = [name for name in NAMES if name.startswith("plan/") and name != "plan/__init__.py"]
    assert {name.split("/")[1] for name in modules} == {*PLAN_ROOMS}
    found = {name: too_high_in_plan(name, source_of(name)) for name in modules}
    assert {name: rooms for name, rooms in found.items() if rooms} == {}


def test_the_check_on_rooms_of_plan_sees_what_it_should() -> None:
    source = "from matchmaker.plan.solvers.engine import run"
    assert too_high_in_plan("plan/program/model.py", source) == {"solvers"}
    assert too_high_in_plan("plan/searching/solve.py", source) == set()


def test_fenced_packages_stay_in_their_layer() -> None:
    assert {name: found for name in NAMES if (found := outside_fences(name, source_of(name)))} == {}


def test_every_package_is_a_layer() -> None:
    found = {path.relative_to(ROOT).parts[0].removesuffix(".py") for path in PATHS}
    packages = {layer for layer in LAYERS if layer != "top"}
    assert found - {"examples"} == {*packages, *BOTTOM, *TOP}


@pytest.mark.parametrize(
    ("name", "source", "found"),
    [
        (
            "flock/bird.py",
            "from matchmaker.genetics.shares.share import breed_shares",
            {"genetics"},
        ),
        ("flock/bird.py", "from matchmaker.tables.records import Sex", set()),
        ("genetics/x.py", "def f():\n    import matchmaker.plan.searching.solve", {"plan"}),
        ("pairs/x.py", "from matchmaker import verbs", {"top"}),
        ("plan/x.py", "if TYPE_CHECKING:\n    from matchmaker.report import pens", {"report"}),
        ("errors.py", "from matchmaker.tables.records import Sex", {"tables"}),
        ("verbs.py", "from matchmaker.report.pens import pens", {"report"}),
        ("report/x.py", "from matchmaker.verbs import Check", set()),
        ("cli/app.py", "from matchmaker import __version__", set()),
    ],
)
def test_the_check_on_layers_sees_what_it_should(name: str, source: str, found: set[str]) -> None:
    assert too_high(name, source) == found


@pytest.mark.parametrize(
    ("name", "source", "found"),
    [
        ("genetics/x.py", "import pulp", {"pulp"}),
        ("plan/solvers/x.py", "import pulp.apis", set()),
        ("plan/program/x.py", "import pulp", {"pulp"}),
        ("plan/x.py", "if TYPE_CHECKING:\n    from rich.console import Console", {"rich"}),
        ("tables/read.py", "import pydantic", {"pydantic"}),
        ("tables/configuration.py", "import pydantic", set()),
        ("cli/x.py", "from typer import Option", set()),
    ],
)
def test_the_check_on_fences_sees_what_it_should(name: str, source: str, found: set[str]) -> None:
    assert outside_fences(name, source) == found
