"""Names that the keeper is told to write are read back as they were meant."""

from __future__ import annotations

import tomllib

from hypothesis import given
from hypothesis import strategies as st

from matchmaker.tables.toml_names import counted, section, toml_key, toml_text

NAMES = st.text(st.characters(exclude_categories=["Cs"]))


@given(NAMES, NAMES)
def test_any_name_is_written_so_that_it_is_read_back(first: str, second: str) -> None:
    assert tomllib.loads(f"{section('traits', first)}\n{toml_key(second)} = 1\n") == {
        "traits": {first: {second: 1}}
    }
    assert tomllib.loads(f"a = {toml_text(first)}") == {"a": first}


def test_plain_names_stay_bare() -> None:
    assert section("traits", "eggs_12wk") == "[traits.eggs_12wk]"
    assert section("traits", "Egg weight") == '[traits."Egg weight"]'
    assert section("loci", "ü", "frequency") == '[loci."ü".frequency]'


def test_only_lists_are_counted() -> None:
    assert counted("matings.11.keep.O") == "matings, entry 12, keep.O"
    assert counted("traits.0.h2") == "traits.0.h2"
    assert counted("correlations") == "correlations"
