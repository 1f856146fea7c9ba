"""The group of commands, quick to answer ``COMMAND --help``."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from typer._click.exceptions import BadParameter
from typer.core import TyperGroup

if TYPE_CHECKING:
    from typer._click import Context  # the type that TyperGroup itself declares
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

    def invoke(self, ctx: Context) -> object:
        """Run the command; what is wrong with a number is said in plain words."""
        try:
            return super().invoke(ctx)
        except BadParameter as error:
            for found, plain in NUMBERS:
                error.message = re.sub(found, plain, error.message)
            raise
