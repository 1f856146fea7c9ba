"""Small changes to bytes and texts, of the kind that readers trip over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from tests.fuzz.wild import WILD

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

LONG: Final = 20_000
"""A piece is at most repeated to so many bytes: enough for a slow search to show itself."""

PIECES: Final = (
    *(b",", b";", b"\t", b'"', b'""', b"'", b"\n", b"\r", b"\r\n", b"\n\n", b"\0", b"|", b":"),
    *(b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff", b"sep=;\n", b"sep=,\n", b"sep=|\r\n", b"\xff"),
    *(b"[", b"]", b"{", b"}", b"=", b"#", b'"""', b"'''", b"\\", b"\\u0000", b".", b"..", b"-"),
    *(b"1", b"0", b"9999999999", b"1e999", b"nan", b"inf", b"%", b"/", b"(", b")", b"\xc2\xa0"),
    *(b"<", b">", b"&lt;", b"true", b"null", b"1979-05-27", b"T07:32:00Z", b" x ", b"bird,sex\n"),
)


def mutated(rng: random.Random, content: bytes, others: list[bytes]) -> bytes:
    """Return bytes changed in one to four places."""
    for _ in range(1 + int(rng.expovariate(0.9))):
        content = _once(rng, content, others)
    return content[: 3 * LONG]


def _once(rng: random.Random, content: bytes, others: list[bytes]) -> bytes:
    at = rng.randrange(len(content) + 1)
    end = min(len(content), at + 1 + int(rng.expovariate(0.15)))
    change = rng.randrange(5)
    if change == 0 and others:
        other = rng.choice(others)
        return content[:at] + other[rng.randrange(len(other) + 1) :]
    if change == 1:
        return _lines_moved(rng, content)
    return content[:at] + _instead(rng, content[at:end]) + content[end:]


def _instead(rng: random.Random, piece: bytes) -> bytes:
    """Return what stands in the place of a piece."""
    ways: tuple[Callable[[], bytes], ...] = (
        lambda: b"",
        lambda: rng.choice(PIECES),
        lambda: rng.choice(PIECES) + piece,
        lambda: bytes([rng.randrange(256)]) + piece[1:],
        lambda: rng.choice(WILD).encode("utf-8", "replace"),
        lambda: piece + piece * _times(rng, len(piece)),
        lambda: piece[::-1],
    )
    return rng.choice(ways)()


def _times(rng: random.Random, length: int) -> int:
    most = max(1, LONG // max(1, length))
    return rng.choice((1, 1, 2, 3, 10, rng.randint(1, most), rng.randint(1, min(most, 500))))


def _lines_moved(rng: random.Random, content: bytes) -> bytes:
    lines = content.split(b"\n")
    one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
    if rng.random() < 0.5:
        lines[one], lines[two] = lines[two], lines[one]
    else:
        lines.insert(one, lines[two])
    return b"\n".join(lines)


def text_mutated(rng: random.Random, text: str) -> str:
    """Return a short text with a letter or a piece changed."""
    at = rng.randrange(len(text) + 1)
    end = min(len(text), at + 1 + int(rng.expovariate(0.5)))
    kind = rng.randrange(5)
    if kind == 0:
        return text[:at] + text[end:]
    if kind == 1:
        return text[:at] + rng.choice(WILD) + text[at:]
    if kind == 2:
        return text[:at] + rng.choice("0123456789.,:;|/-+%' \"?eE\n\u2212") + text[at:]
    if kind == 3:
        return text[:end] + text[at:end] * min(_times(rng, end - at), 6000) + text[end:]
    return text[:at] + chr(rng.choice((0x20, 0xA0, 0x660, 0x130, 0x2F, 0x1F600))) + text[end:]
