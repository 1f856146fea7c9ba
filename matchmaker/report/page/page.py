"""The page put together: sections, style and scripts in one file that asks nothing of a network."""

from __future__ import annotations

import base64
import hashlib
import json
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from matchmaker import __version__
from matchmaker.report.page.doors import doors_view
from matchmaker.report.page.family import family_view
from matchmaker.report.page.glance import glance_view
from matchmaker.report.page.pair_explorer import pairs_view
from matchmaker.report.page.pictures import pictures_view
from matchmaker.report.page.provenance import provenance_view
from matchmaker.report.page.view import Further

if TYPE_CHECKING:
    from jinja2 import Template

    from matchmaker.reporting import SeasonReport

STYLES: Final = ("base", "doors", "glance", "pairs", "family", "pictures", "print")
"""Style sheets, in the order in which they hold: a later one wins."""

SCRIPTS: Final = (
    "common",
    "family_layout",
    "family_drawing",
    "family_book",
    "family_kin",
    "family",
    "pictures",
    "pairs_data",
    "pairs_entry",
    "pairs_answer",
    "pairs",
    "find",
)
"""Scripts, each in a scope of its own; what they share hangs on ``page`` (see ``common.js``)."""


def page_html(report: SeasonReport, further: Further | None = None) -> str:
    """Return the whole page as HTML."""
    further = further or Further()
    views = {
        "doors": doors_view(report),
        "glance": glance_view(report),
        "family": family_view(report),
        "pictures": pictures_view(report, further),
        "provenance": provenance_view(report, further),
        "pairs": pairs_view(report),  # last: what pairs cost may still be worked out
    }
    data = {name: value for view in views.values() for name, value in view.data.items()}
    style, script = _assets("css", STYLES), _assets("js", SCRIPTS)
    settings = report.table.study.flock.settings
    return _template().render(
        title=f"Pens for {settings.season}",
        season=settings.season,
        version=__version__,
        style=Markup(style),  # noqa: S704 -- our own file
        script=Markup(script),  # noqa: S704 -- our own file
        script_hash=fingerprint(script),
        data={name: data_text(value) for name, value in data.items()},
        **{name: view.values for name, view in views.items()},
    )


def fingerprint(text: str) -> str:
    """The fingerprint by which a content policy knows a script.

    Examples
    --------
    >>> fingerprint("")
    'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='
    """
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def data_text(value: object) -> Markup:
    r"""JSON that no text in it can end early: it holds no ``<``, ``>`` or ``&``.

    Examples
    --------
    >>> data_text({"bird": "</script>"})
    Markup('{"bird":"\\u003c/script\\u003e"}')
    """
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)  # noqa: S704 -- escaped above


@cache
def environment() -> Environment:
    """Templates of the page: every value is escaped, a name that is missing is an error."""
    return Environment(
        loader=PackageLoader("matchmaker.report.page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _template() -> Template:
    return environment().get_template("page.html")


@cache
def _assets(kind: str, names: tuple[str, ...]) -> str:
    folder = files("matchmaker.report.page") / "assets"
    return "\n".join((folder / f"{name}.{kind}").read_text(encoding="utf-8") for name in names)
