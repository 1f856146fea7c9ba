"""What is handed out: the wheel holds all that the program needs and nothing else."""

from __future__ import annotations

import re
import runpy
import subprocess
import sys
import tarfile
import tomllib
from email import message_from_bytes
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zipfile import ZipFile

import pytest
from hatchling.builders.sdist import SdistBuilder
from hatchling.builders.wheel import WheelBuilder

from matchmaker import __version__
from matchmaker.start import EXAMPLES
from tests.cli.run import EXAMPLES_FOLDER, LIMIT, contents, environment
from tests.conftest import CHILDREN

if TYPE_CHECKING:
    from email.message import Message

PROJECT = Path(__file__).parents[2]
LICENCE = "matchmaker/LICENSE.txt"
METADATA = f"matchmaker-{__version__}.dist-info"
SMALL = {
    "birds.csv": "bird,sex,sire,dam,breed,O\nC1,cock,founder,founder,sussex,no\n"
    "H1,hen,founder,founder,araucana,blue\n",
    "pens.csv": "pen,hens_max\nYard,6\n",
    "matchmaker.toml": 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}\n',
}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return built(WheelBuilder, PROJECT, tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("source")
    with tarfile.open(built(SdistBuilder, PROJECT, folder)) as packed:
        packed.extractall(folder, filter="data")
    return folder / f"matchmaker-{__version__}"


def built(builder: Any, project: Path, folder: Path) -> Path:
    (made,) = builder(str(project)).build(directory=str(folder), versions=["standard"])
    return Path(made)


def kept(*folders: str) -> set[str]:
    """The files of the project in folders of it: all but those that git is told to ignore."""
    if not (PROJECT / ".git").exists():
        pytest.skip(reason="unpacked from an sdist: no git says which files are the project's")
    listed = subprocess.run(
        ["git", "ls-files", "-z", "-co", "--exclude-standard", *folders],  # noqa: S607 -- whichever git there is
        cwd=PROJECT,
        capture_output=True,
        check=True,
    )
    return {name for name in listed.stdout.decode().split("\0") if (PROJECT / name).is_file()}


def files_of(wheel: Path) -> dict[str, bytes]:
    with ZipFile(wheel) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def metadata_of(wheel: Path) -> Message:
    return message_from_bytes(files_of(wheel)[f"{METADATA}/METADATA"])


def test_the_wheel_holds_the_package_and_its_examples_and_nothing_else(wheel: Path) -> None:
    package = kept("matchmaker") - {LICENCE}
    examples = {f"matchmaker/{name}" for name in kept(*(f"examples/{name}" for name in EXAMPLES))}
    assert len(package) > 400
    assert len(examples) > 20
    found = {name for name in files_of(wheel) if not name.startswith(METADATA)}
    assert sorted(found - package - examples) == []
    assert found == package | examples
    kinds = {Path(name).suffix for name in found}
    assert kinds == {".py", ".csv", ".css", ".js", ".html", ".md", ".toml", ".typed"}


def test_beside_the_package_lie_its_metadata_and_licence(wheel: Path) -> None:
    found = {name for name in files_of(wheel) if name.startswith(METADATA)}
    beside = ("METADATA", "WHEEL", "RECORD", "entry_points.txt", f"licenses/{LICENCE}")
    assert found == {f"{METADATA}/{name}" for name in beside}


def test_the_wheel_needs_no_compiler(wheel: Path) -> None:
    assert wheel.name == f"matchmaker-{__version__}-py3-none-any.whl"
    assert b"Root-Is-Purelib: true" in files_of(wheel)[f"{METADATA}/WHEEL"]


def test_the_metadata_name_licence_and_pythons(wheel: Path) -> None:
    told = metadata_of(wheel)
    assert told["License-Expression"] == "MIT"
    assert told["Requires-Python"] == ">=3.11"
    assert "Programming Language :: Python :: 3.11" in told.get_all("Classifier", [])


def test_the_lowest_releases_are_read_off_the_bounds() -> None:
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    bounds = [re.fullmatch(r"([\w-]+)>=([\w.]+),<[\w.]+", line) for line in project["dependencies"]]
    lowest = [f"{bound[1]}=={bound[2]}" for bound in bounds if bound is not None]
    assert len(lowest) == len(bounds) > 10  # each is bounded above too
    script = runpy.run_path(str(PROJECT / ".ci" / "lowest.py"))
    assert [script["pin"](line) for line in project["dependencies"]] == lowest
    with pytest.raises(SystemExit, match="no lower bound in 'numpy'"):
        script["pin"]("numpy")


def test_the_source_makes_the_same_wheel(wheel: Path, source: Path, tmp_path: Path) -> None:
    again = built(WheelBuilder, source, tmp_path)
    assert files_of(again) == files_of(wheel)


def test_the_source_holds_what_its_tests_read(source: Path) -> None:
    tops = ("matchmaker", "tests", "examples", ".ci")
    belong = kept(*tops) | {"README.md", "DEVELOPERS.md", "pyproject.toml"}
    files = {path.relative_to(source).as_posix() for path in source.rglob("*") if path.is_file()}
    assert sorted(belong - files) == []
    assert sorted(files - belong) == [".gitignore", "PKG-INFO"]


def test_the_wheel_works_even_unpacked_by_nobody(wheel: Path, tmp_path: Path) -> None:
    for name, text in SMALL.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    script = (
        "import matchmaker\n"
        "from matchmaker.cli.app import answered\n"
        "for words in ('new flock --like tarn-croft', 'loci', 'report'):\n"
        "    assert not answered(words.split()), words\n"
        "print(matchmaker.__file__)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        env={**environment(PYTHONPATH=str(wheel)), CHILDREN: ""},  # its lines are counted elsewhere
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=LIMIT * 3,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1].startswith(str(wheel))
    assert contents(tmp_path / "flock").keys() == contents(EXAMPLES_FOLDER / "tarn-croft").keys()
    assert "<style" in (tmp_path / "report.html").read_text(encoding="utf-8")
