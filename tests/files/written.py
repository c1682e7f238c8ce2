"""Files written for a test, and the message that reading a bad one gives."""

import io
import re
import zipfile
from pathlib import Path

import openpyxl
import pytest

from combwright.files.results import BadFile

RACK = "bin,pitch,cents,slot_mm,mount,batch,count,cost"
SHEET = "xl/worksheets/sheet1.xml"
TYPES = "[Content_Types].xml"
TEXTS = "xl/sharedStrings.xml"


def write(folder, name, text, *, encoding="utf-8"):
    path = Path(folder) / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
    return path


def write_xlsx(folder, rows, *, name="rack.xlsx", more_sheets=()):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    for title in more_sheets:
        book.create_sheet(title)
    path = Path(folder) / name
    book.save(path)
    return path


def repacked(path, name, content, *, compression=zipfile.ZIP_DEFLATED):
    """Return a workbook's bytes with one part put in another's place, or added."""
    kept = io.BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(kept, "w", compression) as new:
        for part in old.namelist():
            if part != name:
                new.writestr(part, old.read(part))
        new.writestr(name, content)
    return kept.getvalue()


def with_shared_texts(path):
    """Rewrite a workbook of ours as spreadsheets save it: texts in a part of their own."""
    texts = []

    def shared(found):
        texts.append(found[2])
        return f'<c r="{found[1]}" t="s"><v>{len(texts) - 1}</v></c>'

    with zipfile.ZipFile(path) as archive:
        sheet, types = archive.read(SHEET).decode(), archive.read(TYPES).decode()
    sheet = re.sub(r'<c r="(\w+)" t="inlineStr"><is><t>([^<]*)</t></is></c>', shared, sheet)
    assert texts
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
    items = "".join(f"<si><t>{text}</t></si>" for text in texts)
    entry = f'<Override PartName="/{TEXTS}" ContentType="{kind}"/></Types>'
    path.write_bytes(repacked(path, SHEET, sheet))
    path.write_bytes(repacked(path, TYPES, types.replace("</Types>", entry)))
    path.write_bytes(repacked(path, TEXTS, f'<sst xmlns="{main}">{items}</sst>'))
    return path


def lines_of(read, *arguments, **options):
    """Return the lines of the error that reading raises."""
    with pytest.raises(BadFile) as caught:
        read(*arguments, **options)
    return str(caught.value).split("\n")


def line_of(read, *arguments, **options):
    lines = lines_of(read, *arguments, **options)
    assert len(lines) == 1, lines
    assert len(lines[0]) <= 400
    return lines[0]
