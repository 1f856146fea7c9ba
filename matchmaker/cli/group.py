"""The group of commands: in the order of a season, quick to answer ``COMMAND --help``, in words."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from typer._click.exceptions import UsageError
from typer.core import TyperCommand, TyperGroup

import matchmaker
from matchmaker.cli.slips import in_plain_words, refuse_twice

if TYPE_CHECKING:
    from typer._click import Context, HelpFormatter  # the types that typer's classes declare
    from typer._click.core import Command
    from typer.core import TyperOption


REFUSALS: Final = (
    (r"Input should be a valid integer.*", "write a whole number, as in 23"),
    (r"Input should be a valid number.*", "write a number with a point, as in 0.95"),
    (r"Input should be greater than or equal to (.*)", r"\1 is the least it can be"),
    (r"Input should be less than or equal to (.*)", r"\1 is the most it can be"),
    (r"Option '(.*)' requires an argument.*", r"write behind \1 what it is to be"),
    (r"Got unexpected extra arguments?(?:\(s\))? \((.*)\)", r"too much is written: \1"),
)
"""How what cannot be taken is refused, and the same for somebody who counts eggs."""

BOUNDS: Final = (
    (r"default: \(?([^;)\]]+)\)?", r"\1 unless given"),
    (r"([\d.]+)<=x<=([\d.]+)", r"\1 to \2"),
    (r"(; )?x>=[01](?=[;\]])", ""),  # that a number counts something goes without saying
    (r"x>=([\d.]+)", r"\1 or more"),
    (r"\[\]", ""),
    (r"\[required\]", ""),  # the line above says so by its braces
)
"""How help puts what is taken unless given, and between what, and the same in words."""


class QuickGroup(TyperGroup):
    """A group whose own ``--help``, not given, is no instead of nothing.

    For a flag of no value typer loads pydantic to convert it, which doubles the time that
    ``matchmaker plan --help`` takes.
    """

    def get_help_option(self, ctx: Context) -> TyperOption | None:
        """The help option with ``False`` as its default."""
        option: TyperOption | None = super().get_help_option(ctx)
        if option is not None:
            option.default = False
        return option

    def get_command(self, ctx: Context, cmd_name: str) -> Command | None:
        """The command of that name, in capitals too."""
        return super().get_command(ctx, cmd_name.casefold())

    def resolve_command(
        self, ctx: Context, args: list[str]
    ) -> tuple[str | None, Command | None, list[str]]:
        """The command that is asked for, unless one of its options is given twice."""
        name, command, rest = super().resolve_command(ctx, args)
        if command is not None:
            refuse_twice(command, rest, ctx)
        return name, command, rest

    def list_commands(self, ctx: Context) -> list[str]:
        """The commands in the order of a season."""
        return sorted(super().list_commands(ctx), key=matchmaker.COMMANDS.index)

    def invoke(self, ctx: Context) -> object:
        """Run the command; what is wrong with its arguments is said in plain words."""
        typed = list(ctx._protected_args) + ctx.args  # noqa: SLF001 - kept nowhere else
        try:
            return super().invoke(ctx)
        except UsageError as error:
            asked = (error.ctx.info_name or "") if error.ctx and error.ctx is not ctx else ""
            plain = in_words(error.message, REFUSALS)
            error.message = in_plain_words(plain, typed[1 if asked else 0 :], asked)
            raise


class PlainCommand(TyperCommand):
    """A command whose help has words where typer has signs."""

    def format_options(self, ctx: Context, formatter: HelpFormatter) -> None:
        """Arguments, then options: each with what it is for."""
        told: dict[str, list[tuple[str, str]]] = {"argument": [], "option": []}
        for one in self.get_params(ctx):
            if (record := one.get_help_record(ctx)) is not None:
                name, words = record
                of_kind = told[one.param_type_name]
                of_kind.append((re.sub(r" <.*>$", "", name), in_words(words, BOUNDS)))
        for heading, rows in zip(("Arguments", "Options"), told.values(), strict=True):
            if rows:
                with formatter.section(heading):
                    formatter.write_dl(rows)


def in_words(text: str, plain: tuple[tuple[str, str], ...]) -> str:
    """A text of typer's, or of what it stands on, in plain words.

    Examples
    --------
    >>> in_words("How many.  [default: 6; x>=1]", BOUNDS)
    'How many.  [6 unless given]'
    >>> in_words("Input should be less than or equal to 20", REFUSALS)
    '20 is the most it can be'
    """
    for found, instead in plain:
        text = re.sub(found, instead, text)
    return text.rstrip()
