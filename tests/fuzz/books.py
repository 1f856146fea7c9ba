"""Books made byte by byte: XLSX, ODS and XLS with any cells, easy to damage at will."""

from __future__ import annotations

import io
import struct
import zipfile
from typing import TYPE_CHECKING, Final
from xml.sax.saxutils import escape, quoteattr

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import TypeAlias

    Sheets: TypeAlias = Mapping[str, Sequence[Sequence[str]]]

_MAIN: Final = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELATIONS: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE: Final = "http://schemas.openxmlformats.org/package/2006"

NOT_XML: Final = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF), "")
"""Letters that XML 1.0 has no way to write."""


def book(
    suffix: str, sheets: Sheets, hidden: Iterable[str] = (), merged: Sequence[str] = ()
) -> bytes:
    """Return a book of the kind that a file's suffix names; a number is stored as a number."""
    if suffix == ".ods":
        return zipped(ods_parts(sheets))
    if suffix == ".xls":
        return xls(sheets)
    return zipped(xlsx_parts(sheets, set(hidden), merged))


def zipped(parts: Mapping[str, bytes]) -> bytes:
    """Return the parts packed without compression: a changed byte then meets their text."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as packed:
        for name, content in parts.items():
            packed.writestr(zipfile.ZipInfo(name), content)
    return stream.getvalue()


def unzipped(content: bytes) -> dict[str, bytes]:
    """Return the parts of a book, none where it cannot be unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            return {name: packed.read(name) for name in packed.namelist()[:20]}
    except Exception:  # noqa: BLE001  damaged on purpose
        return {}


def xlsx_parts(sheets: Sheets, hidden: set[str], merged: Sequence[str] = ()) -> dict[str, bytes]:
    """Return the parts of an XLSX book."""
    entries, relations, parts = [], [], {}
    for number, (name, rows) in enumerate(sheets.items(), 1):
        state = ' state="hidden"' if name in hidden else ""
        entries.append(
            f'<sheet name={_attribute(name)} sheetId="{number}" r:id="rId{number}"{state}/>'
        )
        target = f"worksheets/sheet{number}.xml"
        relations.append(
            f'<Relationship Id="rId{number}" Type="{_RELATIONS}/worksheet" Target="{target}"/>'
        )
        parts[f"xl/{target}"] = _sheet(rows, merged)
    formats = '<cellXfs><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs>'
    styles = f'<styleSheet xmlns="{_MAIN}">{formats}</styleSheet>'
    relations.append(f'<Relationship Id="s" Type="{_RELATIONS}/styles" Target="styles.xml"/>')
    return {
        "[Content_Types].xml": f'<Types xmlns="{_PACKAGE}/content-types"/>'.encode(),
        "_rels/.rels": (
            f'<Relationships xmlns="{_PACKAGE}/relationships"><Relationship Id="r" '
            f'Type="{_RELATIONS}/officeDocument" Target="xl/workbook.xml"/></Relationships>'
        ).encode(),
        "xl/workbook.xml": (
            f'<workbook xmlns="{_MAIN}" xmlns:r="{_RELATIONS}">'
            f"<sheets>{''.join(entries)}</sheets></workbook>"
        ).encode(),
        "xl/_rels/workbook.xml.rels": (
            f'<Relationships xmlns="{_PACKAGE}/relationships">{"".join(relations)}</Relationships>'
        ).encode(),
        "xl/styles.xml": styles.encode(),
        **parts,
    }


def _sheet(rows: Sequence[Sequence[str]], merged: Sequence[str]) -> bytes:
    lines = []
    for number, row in enumerate(rows, 1):
        cells = "".join(
            _xlsx_cell(f"{column_letters(at)}{number}", text) for at, text in enumerate(row) if text
        )
        lines.append(f'<row r="{number}">{cells}</row>')
    ranges = "".join(f'<mergeCell ref="{area}"/>' for area in merged)
    merges = f"<mergeCells>{ranges}</mergeCells>" if ranges else ""
    return (
        f'<worksheet xmlns="{_MAIN}"><sheetData>{"".join(lines)}</sheetData>{merges}</worksheet>'
    ).encode("utf-8", "replace")


def _xlsx_cell(place: str, text: str) -> str:
    if stored_as_number(text):
        return f'<c r="{place}"><v>{text}</v></c>'
    if text.startswith("=") and len(text) > 1:
        return f'<c r="{place}" t="str"><f>{_text(text[1:])}</f><v>{_text(text)}</v></c>'
    return f'<c r="{place}" t="inlineStr"><is><t xml:space="preserve">{_text(text)}</t></is></c>'


def stored_as_number(text: str) -> bool:
    """Whether a text is a number as it is shown, so that it can be stored as one."""
    plain = text.removeprefix("-").replace(".", "", 1)
    if not (plain.isascii() and plain.isdigit()) or len(text) > 12 or "." in (text[0], text[-1]):
        return False
    number = float(text)
    return text == (str(int(number)) if number.is_integer() else repr(number))


def column_letters(at: int) -> str:
    """Return the letters over a column, counted from 0.

    >>> column_letters(0), column_letters(26)
    ('A', 'AA')
    """
    letters = ""
    at += 1
    while at:
        at, left = divmod(at - 1, 26)
        letters = chr(65 + left) + letters
    return letters


def ods_parts(sheets: Sheets) -> dict[str, bytes]:
    """Return the parts of an ODS book."""
    tables = "".join(
        f"<table:table table:name={_attribute(name)}>{''.join(map(_ods_row, rows))}</table:table>"
        for name, rows in sheets.items()
    )
    spaces = "".join(
        f' xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{short}:1.0"'
        for short in ("office", "table", "text")
    )
    content = (
        f"<office:document-content{spaces}><office:body><office:spreadsheet>{tables}"
        "</office:spreadsheet></office:body></office:document-content>"
    )
    kind = b"application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>'
    )
    return {
        "mimetype": kind,
        "content.xml": content.encode("utf-8", "replace"),
        "META-INF/manifest.xml": manifest.encode(),
    }


def _ods_row(row: Sequence[str]) -> str:
    cells = "".join(map(_ods_cell, row)) or "<table:table-cell/>"
    return f"<table:table-row>{cells}</table:table-row>"


def _ods_cell(text: str) -> str:
    if not text:
        return "<table:table-cell/>"
    if stored_as_number(text):
        kind = f'office:value-type="float" office:value="{text}"'
    else:
        kind = 'office:value-type="string"'
    return f"<table:table-cell {kind}><text:p>{_text(text)}</text:p></table:table-cell>"


def xls(sheets: Sheets) -> bytes:
    """Return an old book: the stream of its records in a compound file."""
    bodies = [_xls_sheet(rows) for rows in sheets.values()]
    names = [name.encode("latin-1", "replace")[:31] for name in sheets]
    head = _record(0x809, struct.pack("<HHHHII", 0x600, 5, 0, 0, 0, 0))
    entries = sum(4 + 8 + len(name) for name in names)
    at = len(head) + entries + 4
    listed = b""
    for name, body in zip(names, bodies, strict=True):
        listed += _record(0x85, struct.pack("<IBBBB", at, 0, 0, len(name), 0) + name)
        at += len(body)
    return compound(head + listed + _record(0x0A, b"") + b"".join(bodies))


def _xls_sheet(rows: Sequence[Sequence[str]]) -> bytes:
    width = max((len(row) for row in rows), default=0)
    made = _record(0x809, struct.pack("<HHHHII", 0x600, 0x10, 0, 0, 0, 0))
    made += _record(0x200, struct.pack("<IIHHH", 0, len(rows), 0, width, 0))
    for number, row in enumerate(rows):
        for at, text in enumerate(row):
            place = struct.pack("<HHH", number, at, 0)
            if stored_as_number(text):
                made += _record(0x203, place + struct.pack("<d", float(text)))
            elif text:
                letters = text.encode("utf-16-le", "replace")[:8000]
                made += _record(0x204, place + struct.pack("<HB", len(letters) // 2, 1) + letters)
    return made + _record(0x0A, b"")


def _record(kind: int, body: bytes) -> bytes:
    return struct.pack("<HH", kind, len(body)) + body


def compound(stream: bytes) -> bytes:
    """Return a compound file that holds one stream, called Workbook."""
    sectors = max(8, -(-len(stream) // 512))
    stream = stream.ljust(sectors * 512, b"\0")
    tables = -(-(sectors + 2) // 127)
    chain = [0xFFFFFFFD] * tables + [0xFFFFFFFE]
    first = tables + 1
    chain += [first + at + 1 for at in range(sectors - 1)] + [0xFFFFFFFE]
    chain += [0xFFFFFFFF] * (tables * 128 - len(chain))
    entries = _entry("Root Entry", 5, 0xFFFFFFFE, 0, child=1) + _entry(
        "Workbook", 2, first, len(stream)
    )
    head = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16)
    head += struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6) + bytes(6)
    head += struct.pack("<IIIIIIIII", 0, tables, tables, 0, 4096, 0xFFFFFFFE, 0, 0xFFFFFFFE, 0)
    head += b"".join(struct.pack("<I", at) for at in range(tables))
    head = head.ljust(512, b"\xff")
    return head + struct.pack(f"<{len(chain)}I", *chain) + entries.ljust(512, b"\0") + stream


def _entry(name: str, kind: int, start: int, size: int, child: int = 0xFFFFFFFF) -> bytes:
    letters = name.encode("utf-16-le") + b"\0\0"
    none = 0xFFFFFFFF
    return (
        letters.ljust(64, b"\0")
        + struct.pack("<HBBIII", len(letters), kind, 1, none, none, child)
        + bytes(36)
        + struct.pack("<IQ", start, size)
    )


def _text(text: str) -> str:
    return escape(text.translate(NOT_XML))


def _attribute(text: str) -> str:
    return quoteattr(text.translate(NOT_XML)[:31] or "x")
