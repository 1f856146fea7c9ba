"""The command line as such: its name, its help, its version; commands add themselves to it."""

from __future__ import annotations

from typing import Annotated

import typer

from matchmaker.cli.group import QuickGroup

app = typer.Typer(
    name="matchmaker",
    cls=QuickGroup,
    help="Which hens go with which cock: breeding pens for a backcross flock.\n\n"
    "Start with: matchmaker new my-flock",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(*, wanted: bool) -> None:
    if wanted:
        from matchmaker import __version__

        typer.echo(f"matchmaker {__version__}")
        raise typer.Exit


@app.callback()
def main(
    *,
    version: Annotated[
        bool,
        typer.Option(
            "--version",
            "-V",
            help="Print the version.",
            is_eager=True,
            callback=lambda wanted: _version(wanted=wanted),
        ),
    ] = False,
) -> None:
    """Which hens go with which cock: breeding pens for a backcross flock."""
