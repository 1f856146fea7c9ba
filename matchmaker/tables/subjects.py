"""Whom a row of evidence or of eggs is about, and how many chicks it counts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from matchmaker.tables.reading import Issue

Issues = Iterator[tuple[str, Issue]]
"""Column names with what is wrong in them."""


def one_subject(table: str, values: Mapping[str, object]) -> Issues:
    """Tell when a row names nobody, or both a bird and the parents of unbanded chicks."""
    parents = [name for name in ("hen", "cock", "pen") if values.get(name)]
    if table == "eggs":
        if not parents:
            yield "pen", _subject("the row names no pen, hen or cock", "name the pen or the hen")
    elif values.get("bird") and parents:
        yield (
            parents[0],
            _subject(
                f"the row names a bird and also a {parents[0]}",
                "name either the bird, or the parents or pen of unbanded chicks",
            ),
        )
    elif not values.get("bird") and not parents:
        yield (
            "bird",
            _subject(
                "the row names nobody it was seen on",
                "name the bird, or the parents or pen of unbanded chicks",
            ),
        )


def with_count(values: dict[str, object]) -> Issues:
    """Join what was seen with its count, so that ``what`` is ``((class, count), ...)``.

    A bird shows one class once; unbanded chicks need a number for every class.
    """
    count = values.pop("count", None)
    what = values.get("what")
    assert isinstance(what, tuple)  # noqa: S101  a row without it has been dropped
    if values.get("bird"):
        yield from _one_bird(what, count)
        values["what"] = tuple((name, 1) for name, _ in what)
        return
    if count is not None and (len(what) > 1 or what[0][1] is not None):
        yield "count", _classes("the chicks are counted twice, in what and in count", "keep one")
    elif count is None and any(number is None for _, number in what):
        yield "count", _classes("it is not said how many chicks", "write their number")
    values["what"] = tuple((name, count if number is None else number) for name, number in what)


def _one_bird(what: tuple[tuple[str, int | None], ...], count: object) -> Issues:
    if len(what) > 1 or what[0][1] not in (None, 1) or count not in (None, 1):
        yield (
            "what",
            _classes(
                "one bird shows one class once",
                "write one class, or name the parents or pen of the chicks in place of a bird",
            ),
        )


def _subject(problem: str, mend: str) -> Issue:
    return Issue(kind="subject", problem=problem, mend=mend)


def _classes(problem: str, mend: str) -> Issue:
    return Issue(kind="bad-count", problem=problem, mend=mend)
