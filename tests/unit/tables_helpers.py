"""Small flock folders for the tests of reading, and what their findings say in short."""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import xlsxwriter

from matchmaker.tables.read import read_folder

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables

SETTINGS = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}\n'

BIRDS = """bird,sex,hatched,sire,dam,line,breed,O
C1,cock,2025-03-01,founder,founder,Alder,sussex,
C2,cock,2025-03-02,founder,founder,Alder,sussex,
H1,hen,2025-03-03,founder,founder,Alder,sussex:0.5|araucana:0.5,blue
H2,hen,2026-04-01,C1,H1,Alder,,
"""

PENS = "pen,hens_max\nOrchard,8\nYard,6\n"


def folder(path: Path, **tables: str | bytes) -> Path:
    """Write a flock folder: sound tables, with those given in their place (``settings`` too)."""
    for name, content in {"settings": SETTINGS, "birds": BIRDS, "pens": PENS, **tables}.items():
        file = path / ("matchmaker.toml" if name == "settings" else f"{name}.csv")
        file.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def read(path: Path, **tables: str | bytes) -> FolderTables:
    """Read the folder that ``folder`` writes."""
    return read_folder(folder(path, **tables))


def birds(*rows: str, header: str = "bird,sex,sire,dam") -> str:
    """Return a table of birds with these rows."""
    return "\n".join([header, *rows]) + "\n"


Place = tuple[str, str, int | None, str | None, str]


def place(found: Fault) -> Place:
    """Return all of a finding but its words."""
    return (found.kind, found.file, found.row, found.column, found.value)


def places(found: tuple[Fault, ...]) -> list[Place]:
    """Return all of several findings but their words."""
    return [place(one) for one in found]


def xlsx(sheets: dict[str, list[list[object]]], hidden: str = "") -> bytes:
    """Return an XLSX book with these sheets."""
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True, "default_date_format": "d/m/yy"}) as book:
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for at, row in enumerate(rows):
                sheet.write_row(at, 0, row)
            if name == hidden:
                sheet.hide()
            else:
                sheet.activate()
                sheet.set_first_sheet()
    return stream.getvalue()


def ods(rows: list[list[str]]) -> bytes:
    """Return an ODS book with one sheet of text cells, made by hand from its open standard."""
    names = "urn:oasis:names:tc:opendocument:xmlns"
    body = "".join(
        "<table:table-row>"
        + "".join(
            '<table:table-cell office:value-type="string">'
            f"<text:p>{escape(cell)}</text:p></table:table-cell>"
            for cell in row
        )
        + "</table:table-row>"
        for row in rows
    )
    content = (
        f'<office:document-content xmlns:office="{names}:office:1.0" '
        f'xmlns:table="{names}:table:1.0" xmlns:text="{names}:text:1.0" office:version="1.2">'
        f'<office:body><office:spreadsheet><table:table table:name="Sheet1">{body}'
        "</table:table></office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        packed.writestr("mimetype", kind)
        packed.writestr(
            "META-INF/manifest.xml",
            f'<manifest:manifest xmlns:manifest="{names}:manifest:1.0">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
            '<manifest:file-entry manifest:full-path="content.xml" '
            'manifest:media-type="text/xml"/></manifest:manifest>',
        )
        packed.writestr("content.xml", content)
    return stream.getvalue()
