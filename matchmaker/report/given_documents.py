"""Documents of longer work that the keeper names for the page: read, and held against the books."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

from matchmaker.errors import UsageError
from matchmaker.report.frontier import HEADER
from matchmaker.report.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from matchmaker.report.documents import Document

FRONTIER: Final = "frontier"
AHEAD: Final = "ahead"

MADE_BY: Final = {
    FRONTIER: "matchmaker plan --frontier --json",
    AHEAD: "matchmaker ahead --json",
}
"""The kinds of documents that the page takes in, by the command that prints each."""

SIZE_MAX: Final = 200_000_000
"""Bytes beyond which nothing is read: a document of hundreds of springs and lines has a tenth."""

_HOLDS: Final[Mapping[str, Mapping[str, type]]] = {
    FRONTIER: {"pairs": int, "plans": list},
    AHEAD: {
        "premise": str,
        "seasons": int,
        "replicates": int,
        "target": dict,
        "lines": list,
        "policy": str,
        "sentence": str,
        "springs": list,
        "policies": list,
        "remarks": list,
    },
}
"""What each kind holds beside its head."""

_EACH_HOLDS: Final = {
    FRONTIER: {"plans": {*HEADER, "pens"}},
    AHEAD: {
        "springs": {"spring", "lines"},
        "lines": {"line", "carries_target", "importance", "breeds_true_from"},
        "policies": {"policy", "sentence", "verdict", "springs", "differences"},
    },
}
"""And each entry of the lists in it."""


def given_documents(files: Iterable[Path], inputs: Mapping[str, str]) -> dict[str, Document]:
    """The documents in files, by kind; ``inputs`` are the fingerprints of the tables as they are.

    Raises
    ------
    UsageError
        If a file cannot be read, holds no such document, was made from other tables, or two hold
        one kind.
    """
    found: dict[str, Document] = {}
    names: dict[str, Path] = {}
    for file in files:
        document = _read(file)
        kind = _kind_of(file, document)
        if kind in found:
            raise UsageError(
                f"{names[kind]} and {file} are both of {MADE_BY[kind]}: name one of them"
            )
        _refuse_gaps(file, kind, document)
        _refuse_other_tables(file, kind, (document["inputs"], inputs))
        found[kind], names[kind] = document, file
    return found


def _read(file: Path) -> Document:
    try:
        if not file.exists():
            raise UsageError(f"there is no file {file}; {_how()}")
        if not file.is_file():
            raise UsageError(f"{file} is not a file; {_how()}")
        if file.stat().st_size > SIZE_MAX:
            raise UsageError(f"{file} is larger than {SIZE_MAX // 1_000_000} MB; {_how()}")
        document = json.loads(file.read_text(encoding="utf-8-sig"), parse_constant=_no_number)
    except OSError as error:
        raise UsageError(f"{file} cannot be read: {error.strerror or error}") from error
    except (ValueError, RecursionError) as error:
        raise UsageError(f"{file} holds no JSON document, or only part of one; {_how()}") from error
    if not isinstance(document, dict):
        raise UsageError(f"{file} holds no document of matchmaker; {_how()}")
    return document


def _no_number(name: str) -> float:
    raise ValueError(name)


def _how() -> str:
    made = " or ".join(f"{command} > FILE" for command in MADE_BY.values())
    return f"make one with {made}"


def _kind_of(file: Path, document: Document) -> str:
    schema = document.get("schema")
    for kind in MADE_BY:
        if schema == f"matchmaker/{kind}/1":
            return kind
    told = f"is of {schema}" if isinstance(schema, str) else "names no schema"
    raise UsageError(f"{file} {told}, which the page has no place for; {_how()}")


def _refuse_gaps(file: Path, kind: str, document: Document) -> None:
    """Refuse what a hand, or a program between, has taken out of a document."""
    wanted = {"inputs": dict, **_HOLDS[kind]}
    missing = [name for name, form in wanted.items() if not isinstance(document.get(name), form)]
    missing += [
        name
        for name, keys in _EACH_HOLDS[kind].items()
        if name not in missing and not _all_hold(document[name], keys)
    ]
    if missing:
        raise UsageError(
            f"{file} is not as matchmaker wrote it ({listed(missing)}): make it again with "
            f"{MADE_BY[kind]} > FILE"
        )


def _all_hold(entries: list[Any], keys: set[str]) -> bool:
    return all(isinstance(one, dict) and keys <= one.keys() for one in entries)


def _refuse_other_tables(
    file: Path, kind: str, both: tuple[Mapping[str, str], Mapping[str, str]]
) -> None:
    then, now = both
    told = [
        (sorted(name for name in then.keys() & now.keys() if then[name] != now[name]), "changed"),
        (sorted(now.keys() - then.keys()), "new"),
        (sorted(then.keys() - now.keys()), "gone"),
    ]
    words = [
        f"{listed(names)} {'is' if len(names) == 1 else 'are'} {what}"
        if what != "changed"
        else f"{listed(names)} {'has' if len(names) == 1 else 'have'} changed"
        for names, what in told
        if names
    ]
    if words:
        raise UsageError(
            f"{file} was made from other tables: since then {', '.join(words)}. Make it again with "
            f"{MADE_BY[kind]} > FILE"
        )
