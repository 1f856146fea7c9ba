"""The books under other settings: other weights, a lower limit on kinship, one line fewer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.ahead.books import settings_of
from matchmaker.pairs.value import share_weight
from matchmaker.settings import LocusSettings
from matchmaker.tables.records import Status

if TYPE_CHECKING:
    from matchmaker.settings import Settings
    from matchmaker.tables.folder import FolderTables


@dataclass(frozen=True, slots=True)
class Unchanged:
    """The books as they are."""

    def __call__(self, tables: FolderTables) -> FolderTables:
        """Return them."""
        return tables


@dataclass(frozen=True, slots=True)
class ShareTwice:
    """The recurrent share counts twice as much."""

    def __call__(self, tables: FolderTables) -> FolderTables:
        """Return the books with that weight."""
        settings = settings_of(tables)
        weights = settings.weights.model_copy(
            update={"recurrent_share": 2 * share_weight(settings)}
        )
        return replace(tables, settings=settings.model_copy(update={"weights": weights}))


@dataclass(frozen=True, slots=True)
class HalfKinship:
    """Every limit on the kinship of a pair is halved."""

    def __call__(self, tables: FolderTables) -> FolderTables:
        """Return the books with those limits."""
        settings = settings_of(tables)
        halved = settings.limits.kinship_max / 2
        limits = settings.limits.model_copy(update={"kinship_max": halved})
        lines = {
            name: line
            if line.kinship_max is None
            else line.model_copy(update={"kinship_max": line.kinship_max / 2})
            for name, line in settings.lines.items()
        }
        changed = settings.model_copy(update={"limits": limits, "lines": lines})
        return replace(tables, settings=changed)


@dataclass(frozen=True, slots=True)
class Without:
    """One line is given up: its birds are let go, the other lines get what it asked for.

    ``wanted`` are the wanted chicks of the other lines with its own shared out in proportion.
    """

    line: str
    wanted: tuple[tuple[str, float], ...]

    def __call__(self, tables: FolderTables) -> FolderTables:
        """Return the books without the line among the living."""
        settings = settings_of(tables)
        gone = {record.bird for record in tables.birds if record.line == self.line}
        return replace(
            tables,
            settings=self._settings(settings),
            birds=tuple(
                replace(record, status=Status.SOLD, left_on=settings.pen_up)
                if record.bird in gone and record.status.alive_here
                else record
                for record in tables.birds
            ),
            pens=tuple(
                replace(pen, line="") if pen.line == self.line else pen for pen in tables.pens
            ),
            plan=(),
            wishes=tuple(row for row in tables.wishes if not {row.bird, row.partner} & gone),
        )

    def _settings(self, settings: Settings) -> Settings:
        """The settings without the line, its wanted chicks given to the others."""
        lines = dict(settings.lines)
        lines.pop(self.line, None)
        for name, chicks in self.wanted:
            lines[name] = settings.line(name).model_copy(update={"chicks_wanted": chicks})
        rows = [
            row.model_copy(
                update={
                    side: tuple(name for name in getattr(row, side) if name != self.line)
                    for side in ("hens", "cocks")
                }
            )
            for row in settings.matings
            if row.chicks != self.line
        ]
        named = {locus: LocusSettings() for locus in _loci_named(settings)}
        changed = {
            "loci": named | settings.loci,
            "lines": lines,
            "matings": tuple(row for row in rows if row.hens and row.cocks),
            "rotation": _shorter(settings, self.line),
        }
        return settings.model_copy(update=changed)


def _loci_named(settings: Settings) -> set[str]:
    """Loci that rows of matings name: they are looked at whichever rows are left."""
    return {
        locus for row in settings.matings for sex in ("cock", "hen") for locus in row.keep_for(sex)
    }


def _shorter(settings: Settings, line: str) -> object:
    rotation = settings.rotation
    if rotation is None or line not in rotation.order:
        return rotation
    order = tuple(name for name in rotation.order if name != line)
    return rotation.model_copy(update={"order": order}) if len(order) > 1 else None
