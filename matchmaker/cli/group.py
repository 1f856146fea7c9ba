"""The group of commands, quick to answer ``COMMAND --help``."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from typer._click.exceptions import BadParameter, UsageError
from typer.core import TyperGroup

from matchmaker.cli.slips import in_plain_words, refuse_twice

if TYPE_CHECKING:
    from typer._click import Context  # the types that TyperGroup itself declares
    from typer._click.core import Command
    from typer.core import TyperOption


NUMBERS: Final = (
    (r"Input should be a valid integer.*", "write a whole number, as in 23"),
    (r"Input should be a valid number.*", "write a number with a point, as in 0.95"),
    (r"Input should be greater than or equal to (.*)", r"\1 is the least it can be"),
    (r"Input should be less than or equal to (.*)", r"\1 is the most it can be"),
)
"""How a number that cannot be taken is refused, and the same for somebody who counts eggs."""


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

    def invoke(self, ctx: Context) -> object:
        """Run the command; what is wrong with its arguments is said in plain words."""
        typed = list(ctx._protected_args) + ctx.args  # noqa: SLF001 - kept nowhere else
        try:
            return super().invoke(ctx)
        except BadParameter as error:
            for found, plain in NUMBERS:
                error.message = re.sub(found, plain, error.message)
            raise
        except UsageError as error:
            asked = (error.ctx.info_name or "") if error.ctx and error.ctx is not ctx else ""
            error.message = in_plain_words(error.message, typed[1 if asked else 0 :], asked)
            raise
