"""A page opened in a real browser, with all that it said and asked for written down."""

from __future__ import annotations

import io
import json
import os
import re
import shutil
import time
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright
from pypdf import PdfReader

from matchmaker import verbs
from matchmaker.report.page.page import page_html
from matchmaker.report.wording import rule_sentence, rule_state
from matchmaker.reporting import season_report

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize

    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken
    from matchmaker.reporting import SeasonReport

EXAMPLES_FOLDER: Final = Path(__file__).parents[2] / "examples"
EXAMPLES: Final = ("holm-fen", "skarn-farm", "tarn-croft")
TWO: Final = ("holm-fen", "tarn-croft")
"""A large flock and a small one, where a third would show nothing new."""

DESKTOP: Final[ViewportSize] = {"width": 1280, "height": 900}
PHONE: Final[ViewportSize] = {"width": 360, "height": 740}
SMALL_PHONE: Final[ViewportSize] = {"width": 320, "height": 640}

BROWSERS: Final = ("chromium", "chromium-browser", "google-chrome")
ASKED: Final = "MATCHMAKER_BROWSER"
REQUIRED: Final = ("MATCHMAKER_BROWSER_REQUIRED", "CI")
ARGUMENTS: Final = ("--no-sandbox",)

AXE: Final = Axe()
MOST_SHOWN: Final = 4
PROGRAM: Final = re.compile(r"<script>.*?</script>", re.DOTALL)
WITHOUT_SCRIPTS: Final = re.compile(r"</?noscript>")


def browser_path() -> str | None:
    """Where the browser is: the one named in the environment, else the first that is found."""
    named = os.environ.get(ASKED)
    return named or next(filter(None, map(shutil.which, BROWSERS)), None)


def browser_required() -> bool:
    """Whether tests without a browser are a failure; elsewhere they are left out."""
    return any(os.environ.get(name) for name in REQUIRED)


def running_browser(path: str) -> Iterator[Browser]:
    """A browser, closed afterwards."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


def folder_report(folder: Path) -> SeasonReport:
    """All that the page of a folder shows."""
    return season_report(verbs.pairs(folder))


def folder_page(folder: Path) -> str:
    """The page of a folder."""
    return page_html(folder_report(folder))


def made_once(file: Path, make: Callable[[Path], None]) -> None:
    """Make a file, unless another process has made it or is about to: then wait for it.

    If the other one fails, the next that waits tries.
    """
    claim = file.with_suffix(".claimed")
    while not file.exists():
        try:
            claim.mkdir()
        except FileExistsError:
            time.sleep(0.1)
            continue
        try:
            make(file)
        finally:
            claim.rmdir()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """A rule told of one bird or two: its name, and its sentence."""

    birds: list[str]
    name: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What a page must say: pens with their birds; rejected pairs with the rules they break."""

    pens: dict[str, list[str]]
    rejected: dict[str, list[Reason]]

    @classmethod
    def of(cls, report: SeasonReport) -> Facts:
        """Read off what the plan and the rules hold."""
        pens: dict[str, list[str]] = {}
        for stay in report.guide.pens.stays:
            pens.setdefault(stay.pen, []).append(stay.bird)
        of_birds = report.table.of_birds
        return cls(
            pens=pens,
            rejected={
                f"{pair.hen} x {pair.cock} {at}": [
                    reason(pair, broken, of_birds) for broken in pair.broken
                ]
                for at, pair in enumerate(report.table.pairs)
                if not pair.allowed
            },
        )

    def written(self) -> str:
        """The facts as text, to be read by other processes."""
        return json.dumps(asdict(self))

    @classmethod
    def read(cls, text: str) -> Facts:
        """Facts out of a text."""
        found = json.loads(text)
        rejected = {
            pair: [Reason(**one) for one in reasons] for pair, reasons in found["rejected"].items()
        }
        return cls(pens=found["pens"], rejected=rejected)


def reason(pair: Pair, broken: Broken, of_birds: Mapping[str, Sequence[Broken]]) -> Reason:
    """A rule with the birds it is told of: both, or the one that it rejects whatever its mate."""
    alone = [one for one in (pair.hen, pair.cock) if broken in of_birds.get(one, ())]
    return Reason(
        birds=alone[:1] or [pair.hen, pair.cock],
        name=rule_state(broken),
        sentence=rule_sentence(broken),
    )


@dataclass(slots=True)
class Record:
    """What a page said and asked for since it was opened."""

    url: str
    messages: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)

    def watch(self, page: Page) -> None:
        """Write down from now on."""
        page.on("console", lambda message: self.messages.append(message.text))
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("request", lambda request: self.requests.append(request.url))

    def noise(self) -> list[str]:
        """Messages, errors and requests, but for those of the file itself."""
        asked = [url for url in self.requests if url.partition("#")[0] != self.url]
        return [*self.messages, *self.errors, *asked]


class Opener:
    """Opens pages from disk, each in a context of its own, and keeps a record of each."""

    def __init__(self, browser: Browser, folder: Path) -> None:
        self._browser = browser
        self._folder = folder
        self._contexts: list[BrowserContext] = []
        self._quiet: list[Record] = []
        self._records: dict[Page, Record] = {}

    def __call__(
        self,
        page: Path | str,
        *,
        viewport: ViewportSize = DESKTOP,
        scripts: bool = True,
        dark: bool = False,
        offline: bool = True,
        bypass_csp: bool = False,
        quiet: bool = True,
    ) -> Page:
        """Open a file, or HTML that is written to one first.

        With ``quiet`` the test fails, once it is over, if there was a message in the console, an
        error or a request for anything but the file.
        """
        file = page if isinstance(page, Path) else self._written(page)
        context = self._browser.new_context(
            viewport=viewport,
            java_script_enabled=scripts,
            color_scheme="dark" if dark else "light",
            offline=offline,
            bypass_csp=bypass_csp,
        )
        self._contexts.append(context)
        shown = context.new_page()
        record = self._records[shown] = Record(file.resolve().as_uri())
        record.watch(shown)
        if quiet:
            self._quiet.append(record)
        shown.goto(record.url)
        return shown

    def _written(self, html: str) -> Path:
        file = self._folder / f"page{len(self._contexts)}.html"
        file.write_text(html, encoding="utf-8")
        return file

    def record(self, page: Page) -> Record:
        """What a page said and asked for so far."""
        return self._records[page]

    def close(self) -> None:
        """Close all pages; those that had to be quiet must have been."""
        for context in self._contexts:
            context.close()
        assert [noise for record in self._quiet for noise in record.noise()] == []


def without_scripts(html: str) -> str:
    """The page as a browser without scripts reads it, for tests that need scripts of their own.

    Examples
    --------
    >>> without_scripts("<p>a<noscript>b</noscript><script>c()</script>")
    '<p>ab'
    """
    return WITHOUT_SCRIPTS.sub("", PROGRAM.sub("", html))


def unfold(page: Page) -> None:
    """Open all that a reader can open without scripts."""
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")


def words(page: Page) -> str:
    """All text that can be seen once everything is unfolded, with single spaces."""
    unfold(page)
    return plain(page.inner_text("body"))


def plain(text: str) -> str:
    """The text with single spaces.

    Examples
    --------
    >>> plain(" Pen  1\\n")
    'Pen 1'
    """
    return " ".join(text.split())


def stands_in(name: str, text: str) -> bool:
    """Whether a name stands in a text as it is, and not as a part of a longer one.

    Examples
    --------
    >>> stands_in("A1", "pen of A1, A12"), stands_in("A1", "pen of A12")
    (True, False)
    """
    return re.search(rf"(?<!\w){re.escape(plain(name))}(?!\w)", text) is not None


def printed(page: Page, paper: str = "A4") -> list[str]:
    """The text of each sheet of paper, with single spaces."""
    file = io.BytesIO(page.pdf(format=paper))
    return [plain(sheet.extract_text()) for sheet in PdfReader(file).pages]


def faults(page: Page, within: str | None = None) -> list[str]:
    """What axe-core finds against its rules once everything is unfolded; empty where nothing.

    ``within`` is the part of the page to read; a large one takes seconds.
    """
    unfold(page)
    found = AXE.run(page, within).response["violations"]
    return [
        f"{rule['id']}: {node['html'][:120]} ({' '.join(node['failureSummary'].split())})"
        for rule in found
        for node in rule["nodes"][:MOST_SHOWN]
    ]


def overflow(page: Page) -> list[str]:
    """Elements that make the page wider than its window, outermost first; none if it is not."""
    found: list[str] = page.evaluate(OVERFLOW)
    return found


OVERFLOW: Final = """() => {
  const root = document.documentElement;
  if (root.scrollWidth <= root.clientWidth) return [];
  const named = (one) => one.tagName + (one.id && "#" + one.id) + " " + one.className;
  const boxed = (one) => one.closest(".wide") && !one.matches(".wide");
  const wide = [...document.querySelectorAll("body *")].filter(
    (one) => one.getBoundingClientRect().right > root.clientWidth + 0.5 && !boxed(one));
  return [`${root.scrollWidth} > ${root.clientWidth}`, ...wide.slice(0, 8).map(named)];
}"""
"""The page must not scroll sideways (WCAG 2.2 SC 1.4.10 at 320 px)."""
