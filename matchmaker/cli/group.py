"""The group of commands, quick to answer ``COMMAND --help``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typer.core import TyperGroup

if TYPE_CHECKING:
    from typer._click import Context  # the type that TyperGroup itself declares
    from typer.core import TyperOption


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
