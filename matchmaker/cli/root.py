"""The command line as such: its name, its help, its version; commands add themselves to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from matchmaker.cli.group import PlainCommand, QuickGroup

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TypeVar

    Answering = TypeVar("Answering", bound=Callable[..., None])

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


def command(name: str, *examples: str) -> Callable[[Answering], Answering]:
    """Add a function to the program as a command; its help ends in examples of its use."""
    words = "\n\n".join(f"Example: matchmaker {name} {example}" for example in examples)
    return app.command(name, cls=PlainCommand, epilog=words)


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
