"""The page: one HTML file without scripts that asks nothing of a network."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from matchmaker import __version__
from matchmaker.report.page.drawing import draw
from matchmaker.report.page.legend import samples
from tests.sources import sources
from tests.validation.checks import Near

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.report.page.drawing import Plot
    from tests.sources import Source
    from tests.validation.checks import Check, Report, Section

HERE = Path(__file__).parent
STYLES = ("base", "pictures")
"""Style sheets of the tool's own page that this one shares."""


def page_html(report: Report) -> str:
    """The whole page as HTML."""
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters |= {
        "figure": figure,
        "signed": signed,
        "allowed": allowed,
        "kinds": kinds,
        "short": short,
    }
    template = environment.from_string((HERE / "page.html").read_text(encoding="utf-8"))
    return template.render(
        report=report,
        version=__version__,
        style=style(),
        drawn=drawn,
        samples=samples,
        sources=cited(report.checks),
        exact=exact,
        chance=chance,
    )


def style() -> Markup:
    """The style of the tool's own page, and what this one has besides."""
    own = files("matchmaker.report.page") / "assets"
    parts = [(own / f"{name}.css").read_text(encoding="utf-8") for name in STYLES]
    return Markup("\n".join([*parts, (HERE / "page.css").read_text(encoding="utf-8")]))  # noqa: S704


def drawn(plot: Plot) -> Markup:
    """A drawing as markup."""
    return draw(plot)


def cited(checks: Iterable[Check]) -> list[Source]:
    """The sources of checks, each once, in the order in which they are met."""
    return [sources()[name] for name in dict.fromkeys(check.source for check in checks)]


def kinds(section: Section) -> dict[str, int]:
    """How many checks of a section rest on each kind of reference."""
    found: dict[str, int] = {}
    for check in section.checks:
        found[check.standing.value] = found.get(check.standing.value, 0) + 1
    return found


def exact(section: Section) -> str:
    """The largest difference among figures that should agree but for rounding in the machine."""
    found = [abs(one.difference) for one in section.checks if one.near is Near.EXACT]
    return f"{max(found):.1e}".replace("-", "−") if found else "–"


def chance(section: Section) -> str:
    """The largest difference of simulated figures, in standard errors."""
    found = [5 * one.used for one in section.checks if one.near is Near.CHANCE]
    return f"{max(found):.1f}" if found else "–"


def figure(value: float) -> str:
    """A figure with seven digits at most.

    Examples
    --------
    >>> figure(0.125), figure(1 / 3), figure(-1.0), figure(153.675)
    ('0.125', '0.3333333', '−1', '153.675')
    """
    return f"{value:.7g}".replace("-", "−")


def signed(value: float) -> str:
    """A difference with two digits and its sign.

    Examples
    --------
    >>> signed(0.0), signed(-3.1e-9), signed(0.25)
    ('0', '−3.1e−09', '+0.25')
    """
    return f"{value:+.2g}".replace("-", "−") if value else "0"


def allowed(value: float) -> str:
    """A tolerance with two digits.

    Examples
    --------
    >>> allowed(1e-12), allowed(0.00033)
    ('1e−12', '0.00033')
    """
    return f"{value:.2g}".replace("-", "−")


def short(source: str) -> str:
    """The first words of a source, to be followed to its row.

    Examples
    --------
    >>> short("Mrode 2014, Linear Models, CABI"), short("msprime 1.4; tskit")
    ('Mrode 2014', 'msprime 1.4')
    """
    return source.split(";", maxsplit=1)[0].split(",", maxsplit=1)[0].split(" (", maxsplit=1)[0]
