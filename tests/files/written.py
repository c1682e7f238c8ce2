"""Files written for a test, and the message that reading a bad one gives."""

import io
import zipfile
from pathlib import Path

import openpyxl
import pytest

from combwright.files.results import BadFile

RACK = "bin,pitch,cents,slot_mm,mount,batch,count,cost"
ORDERS = "order,key,layout"


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
