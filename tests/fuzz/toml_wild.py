"""Configurations: every key of every section, with values that fit and values that do not."""

from __future__ import annotations

import typing
from typing import TYPE_CHECKING, Final

from matchmaker.section import Section
from matchmaker.settings import Settings
from tests.fuzz.mutation import mutated
from tests.fuzz.wild import settings_text

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator

VALUES: Final = (
    *("0", "1", "2", "3", "0.125", "0.5", "1.0", "-1", "2.5", "1e3", "inf", "nan", "+0.0", "200"),
    *(
        '""',
        '"up"',
        '"down"',
        '"sussex"',
        '"Alder"',
        '"O"',
        '"P"',
        '"backcross"',
        '"hold"',
        '"hen"',
    ),
    *('"test"', '"sight"', '"blind"', '"cock"', '"autosomal"', '"Z"', '"dominant"', '"recessive"'),
    *('"must improve"', '"estimate"', '"day-first"', '"heavy"', '"weight"', '"2027-02-01"', "'x'"),
    *(
        "true",
        "false",
        "2027-02-01",
        "2027-02-01T10:00:00",
        "10:00:00",
        "2027-13-01",
        "0x7b",
        "1_0",
    ),
    *("[]", "[1, 2]", '["weight", "comb"]', '["Alder"]', "[[1], {}]", "[\n  1, # ]\n  2,\n]", "{}"),
    *("{O = [[1]]}", "{O = {a = 1}}", "{cock = 1}", '{hen = "O"}', "[[[]]]"),
    *("{O = 2}", "{O = [1, 2], P = [0]}", "{cock = {O = 1}, hen = {O = [1, 2]}}", "{sussex = 0.1}"),
    *(
        "{sussex = {a = 0.5, b = 0.5}}",
        "{a = {b = {c = 1}}}",
        '"""x\n[y]\nz = 1"""',
        "'''\n'a'\n'''",
    ),
    *(
        '""""a""""',
        "99999999999999999999",
        "0xffffffffffffffffffffffff",
        '"\\u00e9"',
        "{heavy = 6}",
    ),
)
"""Values that some key of the file takes, and some that none does."""


def _sections() -> dict[str, type[Section]]:
    """Return every section by how it is headed, invented names where the keeper chooses them."""
    found: dict[str, type[Section]] = {"": Settings}
    chosen = {
        "breeds": "sussex",
        "sources": "Bill",
        "loci": "Q",
        "traits": "weight",
        "lines": "Alder",
    }
    for name, info in Settings.model_fields.items():
        for section in _sections_in(info.annotation):
            key = f"{name}.{chosen[name]}" if name in chosen else name
            found[f"[{key}]" if name in {"matings", "correlations"} else key] = section
    return found


def _sections_in(annotation: object) -> Iterator[type[Section]]:
    if isinstance(annotation, type) and issubclass(annotation, Section):
        yield annotation
    for inner in typing.get_args(annotation):
        yield from _sections_in(inner)


SECTIONS: Final = _sections()


def _line(rng: random.Random, section: type[Section]) -> str:
    fields = section.model_fields
    name = rng.choice(list(fields))
    key = fields[name].alias or name
    if rng.random() < 0.05:
        key = rng.choice((f"{key}x", f'"{key}"', f"'{key}'", f"{key}.a", f"{key} . 'b'", "=", ""))
    return f"{key} = {rng.choice(VALUES)}{rng.choice(('', '', '', '  # a note', ' # = [x]'))}"


def make_settings(rng: random.Random) -> bytes:
    """Return a configuration with a few keys of a few sections added to one that is whole."""
    text = settings_text(rng)
    for head in rng.sample(list(SECTIONS), rng.randrange(4)):
        lines = [_line(rng, SECTIONS[head]) for _ in range(1 + rng.randrange(3))]
        if not head:
            text = "\n".join((*lines, text))
        elif f"[{head}]" not in text:
            text += "\n".join((f"[{head}]", *lines, ""))
    return text.encode()


def mutate_settings(rng: random.Random, content: bytes, others: list[bytes]) -> bytes:
    """Change a line of a configuration, or bytes of it."""
    if rng.random() < 0.25:
        return mutated(rng, content, others)
    lines = content.decode("utf-8", "replace").split("\n")
    for _ in range(1 + rng.randrange(2)):
        at = rng.randrange(len(lines))
        kind = rng.randrange(4)
        key, equals, _ = lines[at].partition("=")
        if kind == 0 and equals:
            lines[at] = f"{key}= {rng.choice(VALUES)}"
        elif kind == 1:
            lines.insert(at, _line(rng, _around(lines[:at])))
        elif kind == 2 and len(lines) > 1:
            del lines[at]
        else:
            head = rng.choice(list(SECTIONS))
            lines.append(f"[{head or 'x'}]")
            lines.append(_line(rng, SECTIONS[head]))
    return "\n".join(lines)[:20_000].encode("utf-8", "replace")


def _around(lines: list[str]) -> type[Section]:
    """Return the section that the last of these lines stands in."""
    heads = [line.strip() for line in lines if line.startswith("[")]
    return SECTIONS.get(heads[-1][1:-1], Settings) if heads else Settings
