"""Slips of the command line: what was meant, told beside what cannot be taken."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from typer._click.exceptions import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from typer._click import Context  # the type that typer itself declares
    from typer._click.core import Command


def refuse_twice(command: Command, arguments: Sequence[str], within: Context) -> None:
    """Refuse an option given twice that takes one value: only the last would count, unsaid.

    Raises
    ------
    UsageError
        If there is one, or the arguments cannot be read at all.
    """
    context = command.context_class(command, info_name=command.name, parent=within)
    _, _, given = command.make_parser(context).parse_args(list(arguments))
    for option, times in Counter(given).items():
        takes_one = not option.multiple and not getattr(option, "is_flag", False)
        if times > 1 and takes_one and option.param_type_name == "option":
            name = max(option.opts, key=len)
            raise UsageError(f"{name} is given {times} times; write it once.", context)


def in_plain_words(words: str, arguments: Sequence[str], command: str) -> str:
    """A refusal in plain words, with what somebody who typed these arguments may have meant."""
    plain = words + "." * (words[-1:] not in ".?)")
    return " ".join([plain, *_meant(arguments, command)])


def _meant(arguments: Sequence[str], command: str) -> list[str]:
    from matchmaker.tables.flock_folder import as_typed

    if any(word == "-in" or word.startswith("-in=") for word in arguments):
        return ["The folder is named with two dashes: --in FOLDER"]
    if command == "new":
        books = [path for path in map(Path, arguments[1:]) if path.exists()]
        return [f"To take in a book: --from {as_typed(path)}" for path in books[:1]]
    paths = [path for path in map(Path, arguments) if path.exists()]
    if paths and "--in" not in arguments:
        folder = paths[-1] if paths[-1].is_dir() else paths[-1].parent
        asked = command or "plan"
        return [f"The folder of a flock is named so: matchmaker {asked} --in {as_typed(folder)}"]
    return []
