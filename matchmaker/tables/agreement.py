"""Where the configuration and the tables name different lines, breeds, traits and sources."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.errors import CellMend
from matchmaker.tables.nearness import Lexicon, did_you_mean, meant, near, sharing_words
from matchmaker.tables.odd_signs import clear_name
from matchmaker.tables.toml_names import section

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from matchmaker.errors import Fault
    from matchmaker.settings import Settings
    from matchmaker.tables.findings import Findings
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import PenRecord

NO_LINE_WRITTEN = "flock"
"""The line of birds for which neither line nor breed nor a dam's line is written."""


def with_settings(tables: FolderTables, found: Findings) -> None:
    """Find what the configuration names and no table has, and the other way round."""
    if tables.settings is None:
        return
    settings = tables.settings
    if tables.birds:
        found.faults += _recurrent(tables, settings)
        found.faults += _mating_lines(tables, settings)
        found.faults += _pen_lines(tables, settings)
        found.doubts += _idle_sections(tables, settings)
    found.faults += _correlated_traits(tables, settings)
    found.faults += _correlated_twice(tables, settings)
    found.doubts += _traits(tables, settings)


def _recurrent(tables: FolderTables, settings: Settings) -> Iterator[Fault]:
    breeds = _breeds(tables)
    if breeds and settings.recurrent not in breeds:
        yield tables.setting_fault(
            "recurrent",
            kind="unknown-breed",
            value=settings.recurrent,
            problem=f"no bird is of the recurrent breed {settings.recurrent}",
            mend=did_you_mean(settings.recurrent, breeds, "write it in the breed of its birds"),
        )


def _breeds(tables: FolderTables) -> set[str]:
    return {breed for bird in tables.birds for breed in bird.breed}


def _lines_of_birds(tables: FolderTables) -> set[str]:
    """The lines written, and those that birds without one may be counted in."""
    written = {bird.line for bird in tables.birds if bird.line}
    lineless = any(not bird.line for bird in tables.birds)
    return written | (_breeds(tables) | {NO_LINE_WRITTEN} if lineless else set())


def _lines_of_chicks(tables: FolderTables, settings: Settings) -> set[str]:
    joined = {mating.chicks for mating in settings.matings}
    return _lines_of_birds(tables) | set(settings.lines) | joined


def _mating_lines(tables: FolderTables, settings: Settings) -> Iterator[Fault]:
    lines = _lines_of_birds(tables)
    named = [
        (f"matings.{at}.{side}", name)
        for at, mating in enumerate(settings.matings)
        for side, names in (("hens", mating.hens), ("cocks", mating.cocks))
        for name in names
    ]
    if settings.rotation is not None:
        named += [("rotation.order", name) for name in settings.rotation.order]
    for key, name in named:
        if name not in lines:
            yield tables.setting_fault(
                key,
                kind="unknown-line",
                value=name,
                problem=f"no bird is in a line {name}",
                mend=did_you_mean(name, lines, "write the line in the table of birds"),
            )


def _pen_lines(tables: FolderTables, settings: Settings) -> Iterator[Fault]:
    lines = _lines_of_chicks(tables, settings)
    known = Lexicon(sorted(lines))
    for pen in tables.pens:
        if pen.line and pen.line not in lines:
            yield tables.fault(
                "pens",
                pen.row,
                "line",
                kind="unknown-line",
                value=pen.line,
                problem=f"no bird is in a line {pen.line}, and no crossing founds it",
                mend=meant(
                    found := known.near(pen.line),
                    f"write {section('lines', pen.line)} in matchmaker.toml if it is new",
                ),
                mends=_line_cell(pen, clear_name(found)),
                safe=found.in_writing_only and clear_name(found) is not None,
            )


def _line_cell(pen: PenRecord, line: str | None) -> tuple[CellMend, ...]:
    if line is None:
        return ()
    return (CellMend(table="pens", row=pen.row, column="line", was=pen.line, becomes=line),)


def _idle_sections(tables: FolderTables, settings: Settings) -> Iterator[Fault]:
    joined = {mating.chicks for mating in settings.matings}
    lines, breeds = _lines_of_birds(tables) | joined, _breeds(tables)
    sources = {bird.source for bird in tables.birds if bird.source}
    yield from _idle(tables, "lines", settings.lines, lines)
    yield from _idle(tables, "breeds", settings.breeds, breeds)
    yield from _idle(tables, "sources", settings.sources, sources)
    for locus, own in settings.loci.items():
        yield from _idle(tables, f"loci.{locus}.frequency", own.frequency, breeds)


def _idle(
    tables: FolderTables, section: str, named: Collection[str], known: Collection[str]
) -> Iterator[Fault]:
    for name in named:
        if name not in known:
            yield tables.setting_fault(
                f"{section}.{name}",
                kind="idle-setting",
                value=name,
                problem=f"no bird in the tables belongs to {name}",
                mend=did_you_mean(name, known, "leave it if such birds are to come"),
            )


def _traits(tables: FolderTables, settings: Settings) -> Iterator[Fault]:
    """Traits with an aim and no scores, and the other way round, each paired off by its name."""
    unscored = [name for name in settings.traits if name not in tables.traits]
    aimless = [name for name in tables.traits if name not in settings.traits]
    empty = tables.extras.get("scores", ())
    for name in (name for name in unscored if name not in empty):
        yield tables.setting_fault(
            f"traits.{name}",
            kind="idle-setting",
            value=name,
            problem=f"the scores have no column {name}",
            mend=_meant(name, aimless, f"add a column {name} to the scores"),
        )
    for name in aimless:
        place = tables.headers["scores"].get(name, name)
        yield tables.fault(
            "scores",
            None,
            name,
            kind="trait-without-aim",
            value=place,
            problem=f"matchmaker.toml does not say which way of {name} is better, "
            "so it does not count",
            mend=_meant(
                name, unscored, f'write {section("traits", name)} with direction = "up" or "down"'
            ),
        )


def _meant(name: str, names: Collection[str], otherwise: str) -> str:
    """The mend of an unknown trait, which may be known by a longer or a shorter name."""
    close = near(name, names) or sharing_words(name, names)
    return did_you_mean(close or name, [close] if close else [], otherwise)


def _correlated_traits(tables: FolderTables, settings: Settings) -> Iterator[Fault]:
    """Correlations of traits that neither the settings nor the scores know."""
    known = sorted({*settings.traits, *tables.traits})
    for at, correlation in enumerate(settings.correlations):
        for trait in (trait for trait in correlation.traits if trait not in known):
            yield tables.setting_fault(
                f"correlations.{at}.traits",
                kind="unknown-trait",
                value=trait,
                problem=f"there is no trait {trait}",
                mend=did_you_mean(
                    trait, known, f"write {section('traits', trait)}, or take it out here"
                ),
            )


def _correlated_twice(tables: FolderTables, settings: Settings) -> Iterator[Fault]:
    first: dict[frozenset[str], int] = {}
    for at, correlation in enumerate(settings.correlations):
        earlier = first.setdefault(correlation.pair, at)
        if earlier != at:
            row = tables.setting_place(f"correlations.{earlier}")["row"]
            yield tables.setting_fault(
                f"correlations.{at}.traits",
                kind="repeated-setting",
                value=", ".join(correlation.traits),
                problem=f"the correlation of these two is given already, in line {row}",
                mend="delete one of the two",
            )
