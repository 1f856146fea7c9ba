"""What the code says at a place that ``SOURCES.md`` names, written as its table writes values."""

from __future__ import annotations

import csv
import datetime as dt
import importlib
from pathlib import Path
from typing import Any

import matchmaker
from matchmaker.settings import Settings

PACKAGE = Path(matchmaker.__file__).parent
EXAMPLE = Settings(season=2027, recurrent="sussex", target={"O": 2})


def value_of(file: str, name: str) -> str:
    """The value of a constant, of a default of the settings, or of a table of values.

    Examples
    --------
    >>> value_of("season/dates.py", "GRADING_WEEKS"), value_of("tables/ages.py", "INCUBATION")
    ('8, 16, 24', '21')
    >>> (
    ...     value_of("settings.py", "Settings.pen_up"),
    ...     value_of("settings.py", "YearSettings.fertility"),
    ... )
    ('1 February', '0.85')
    """
    if file.endswith(".csv"):
        return _of_table(PACKAGE / file, name)
    module = importlib.import_module("matchmaker." + file.removesuffix(".py").replace("/", "."))
    model, _, key = name.rpartition(".")
    return shown(_default(getattr(module, model), key) if model else getattr(module, name))


def _default(model: Any, key: str) -> Any:
    """The default of a field; what is a property instead, of a folder that says nothing else."""
    fields = model.model_fields
    return fields[key].get_default() if key in fields else getattr(EXAMPLE, key)


def _of_table(path: Path, name: str) -> str:
    rows = rows_of(path)
    if name == "rows":
        return str(len(rows))
    if name in rows[0]:
        return f"{sum(float(row[name]) for row in rows):g}"
    row = next(row for row in rows if row["name"] == name)
    return "; ".join(row[key] for key in ("h2", "repeatability", "depression_percent"))


def rows_of(path: Path) -> list[dict[str, str]]:
    """The rows of a table of values."""
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


def shown(value: Any) -> str:
    """A value as the table writes it: days as their number, a day of the year in words."""
    match value:
        case dt.timedelta():
            found = str(value.days)
        case dt.date():
            found = f"{value.day} {value:%B}"
        case dict():
            found = "; ".join(f"{key} {shown(one)}" for key, one in value.items())
        case range():
            found = f"{value.start} to {value.stop - 1}"
        case tuple():
            found = ", ".join(map(shown, value))
        case _:
            found = value if isinstance(value, str) else f"{value:g}"
    return found
