"""The page as a file: where it may be written, what it holds, what it lacks and how to add that."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError
from matchmaker.plan.arithmetic.result import Outcome
from matchmaker.report.defaults import defaults_of
from matchmaker.report.documents import document_head
from matchmaker.report.pens import proof_line
from matchmaker.report.wording import counted, listed
from matchmaker.season.standing import Source
from matchmaker.tables.flock_folder import as_typed
from matchmaker.tables.write import refuse_target

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from matchmaker.report.documents import Document
    from matchmaker.report.page.view import Further
    from matchmaker.reporting import SeasonReport

NAME: Final = "report.html"
SUFFIXES: Final = frozenset({".html", ".htm"})
OURS: Final = b'<meta name="generator" content="matchmaker '
"""What a page of ours says of itself, near its top."""

TOP: Final = 4096
"""Bytes among which that stands."""

FRONTIER_TOLD: Final = "other plans, from most progress to least kinship"
AHEAD_TOLD: Final = "the coming seasons"


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A page that is made: its text, its file, and what it was made of."""

    file: Path
    html: str
    report: SeasonReport
    further: Further

    @property
    def content(self) -> bytes:
        """The page as it is written."""
        return self.html.encode("utf-8")

    @property
    def pens(self) -> int:
        """How many pens have a sheet: those of this season in which a cock meets a hen."""
        stays, cocks = self.report.guide.pens.stays, self.report.guide.pens.diary.cocks
        with_cock = {one.pen for one in stays if one.bird in cocks}
        return len(with_cock & {one.pen for one in stays if one.bird not in cocks})

    @property
    def pairs(self) -> int:
        """How many pairs can be looked up."""
        return len(self.report.table.by_birds)

    @property
    def pictures(self) -> int:
        """How many pictures there are."""
        return self.html.count("<figure")


def page_target(folder: Path, out: Path | None, *, force: bool) -> Path:
    """Where the page goes; one of ours that stands there is replaced, as it can be made again.

    Raises
    ------
    WouldOverwriteError
        If there is another file and ``force`` is not given.
    UsageError
        If nothing can be written there, or no browser would open it.
    """
    file = folder / NAME if out is None else out
    if file.suffix.lower() not in SUFFIXES and not file.is_dir():
        raise UsageError(
            f"{file} is no name for a page: let it end in .html, or no browser opens it"
        )
    refuse_target(file, overwrite=force or is_our_page(file))
    return file


def is_our_page(file: Path) -> bool:
    """Whether a file is a page that this program made."""
    try:
        with file.open("rb") as stream:
            return OURS in stream.read(TOP)
    except OSError:
        return False


def page_sentence(page: Page) -> str:
    """What was written, in numbers."""
    sheets, pairs = counted(page.pens, "pen sheet"), counted(page.pairs, "pair")
    return f"Wrote {page.file}: {sheets}, {pairs} to look up, {size_text(len(page.content))}."


def size_text(size: int) -> str:
    """How large a file is, a MB being a million bytes.

    Examples
    --------
    >>> size_text(1_234_567), size_text(40_000)
    ('1.2 MB', '40 kB')
    """
    return f"{size / 1_000_000:.1f} MB" if size >= 1_000_000 else f"{max(size / 1_000, 1):.0f} kB"


def doubts_of(report: SeasonReport) -> Iterator[str]:
    """What of the page is not as sure, or not as whole, as it could be."""
    if report.plan.solution.outcome is not Outcome.OPTIMAL:
        yield proof_line(report.plan)
    if report.care.left_out:
        yield f"Not worked out, for want of time: the loss of {listed(report.care.left_out)}."
    if report.costs is None:
        yield (
            "What each pair costs the plan is not in it: with a limit or a price on the kinship of "
            "the parents all pairs hang together."
        )
    else:
        unknown = sum(
            cost.at_most is None and not cost.impossible for cost in report.costs.values()
        )
        if unknown:
            yield (
                f"Of {counted(unknown, 'pair')} the page says only what it "
                "costs at least; matchmaker why HEN COCK works that out."
            )


def next_of(page: Page, folder: Path) -> Iterator[str]:
    """What can be done with the page, and what could stand in it besides."""
    if page.report.guide.pens.source is Source.BEST:
        yield (
            "These pens are not written down yet. To keep them: "
            f"matchmaker plan --in {as_typed(folder)} --write"
        )
    yield "Next: print the page, one sheet a pen; on the screen look up any pair."
    lacking = [
        f"{what} ({option})"
        for what, option, there in (
            (FRONTIER_TOLD, "--frontier", page.further.frontier),
            (AHEAD_TOLD, "--ahead 6", page.further.ahead),
        )
        if there is None
    ]
    if lacking:
        yield f"Not in it, as that takes a minute or more: {listed(lacking)}."


def page_document(page: Page) -> Document:
    """The page as ``matchmaker/report/1``: its file and fingerprint, what it holds and lacks."""
    report, further = page.report, page.further
    absent = {"frontier": further.frontier, "ahead": further.ahead, "costs": report.costs}
    return {
        **document_head("report", report.table.study.flock.tables, defaults_of(report.table)),
        "file": str(page.file),
        "bytes": len(page.content),
        "sha256": hashlib.sha256(page.content).hexdigest(),
        "pens_from": str(report.guide.pens.source),
        "pens": page.pens,
        "pairs": page.pairs,
        "pictures": page.pictures,
        "left_out": [name for name, there in absent.items() if there is None],
        "losses_left_out": list(report.care.left_out),
        "remarks": list(doubts_of(report)),
    }
