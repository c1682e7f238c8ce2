"""The rack as files that `files.rack.read_rack` reads back: CSV and XLSX.

A spreadsheet takes a text that begins with =, +, -, @ (or with a tab or a carriage return) for a
formula. Such a text gets a no-break space before it: then it is a text everywhere, and the reader,
which takes blanks off both ends of a cell, undoes it. No name can begin with one, as every name
that is typed or read has lost its outer blanks. Characters that cannot be seen, which the reader
refuses, are written as U+FFFD.
"""

import csv
import io
import tempfile
from collections.abc import AsyncIterator, Iterator, Sequence
from decimal import Decimal
from typing import Final

from asgiref.sync import sync_to_async
from django.core.handlers.asgi import ASGIRequest
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.views.decorators.http import require_safe
from openpyxl import Workbook

from combwright.files.rack import RACK_COLUMNS
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack.models import MICRONS_PER_MM, MILLICENTS_PER_CENT, Bin

HEADER: Final = tuple(column.name for column in RACK_COLUMNS)
#: `#` too: a text such as #N/A would be written as an error value.
_TAKEN_FOR_MORE: Final = ("=", "+", "-", "@", "#", "\t", "\r")
_DEFUSED: Final = "\u00a0"
_AT_ONCE: Final = 1_000
_XLSX: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def text_cell(text: str) -> str:
    """Return a text as a cell that no spreadsheet takes for a formula."""
    seen = "".join(c if c.isprintable() else "\ufffd" for c in text)
    return _DEFUSED + seen if text.startswith(_TAKEN_FOR_MORE) else seen


def rows() -> Iterator[Sequence[str | Decimal | int]]:
    """Give the rack's bins along the walk, in the order of `HEADER`; one query."""
    for each in Bin.objects.select_related("batch").iterator(_AT_ONCE):
        stock = each.as_stock()
        yield (
            text_cell(stock.code),
            each.note,
            Decimal(each.millicents) / MILLICENTS_PER_CENT,
            Decimal(each.slot_um) / MICRONS_PER_MM,
            stock.mount,
            text_cell(stock.batch),
            stock.count,
            stock.cost,
            text_cell(stock.cut),
            text_cell(stock.walk),
            "yes" if stock.held else "no",
        )


def csv_parts() -> Iterator[bytes]:
    """Give the CSV file bit by bit; its mark at the start tells spreadsheets that it is UTF-8."""
    kept = io.StringIO(newline="")
    writer = csv.writer(kept)
    kept.write("\ufeff")
    writer.writerow(HEADER)
    for number, row in enumerate(rows(), start=1):
        writer.writerow([format(cell, "f") if isinstance(cell, Decimal) else cell for cell in row])
        if number % _AT_ONCE == 0:
            yield kept.getvalue().encode()
            kept.seek(0)
            kept.truncate()
    yield kept.getvalue().encode()


def xlsx_parts() -> Iterator[bytes]:
    """Give the workbook bit by bit; it is written to disk first, as its index stands at the end."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("rack")
    sheet.append(HEADER)
    for row in rows():
        sheet.append(row)
    with tempfile.TemporaryFile() as file:
        book.save(file)
        file.seek(0)
        while part := file.read(2**16):
            yield part


@require_safe
@needs(May.LOOK)
def rack_csv(request: ShopRequest) -> HttpResponse:
    """Send the whole rack as CSV."""
    return _download(request, csv_parts(), "rack.csv", "text/csv; charset=utf-8")


@require_safe
@needs(May.LOOK)
def rack_xlsx(request: ShopRequest) -> HttpResponse:
    """Send the whole rack as a workbook."""
    return _download(request, xlsx_parts(), "rack.xlsx", _XLSX)


def _download(request: HttpRequest, parts: Iterator[bytes], name: str, kind: str) -> HttpResponse:
    given = _in_turn(parts) if isinstance(request, ASGIRequest) else parts
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    return StreamingHttpResponse(given, content_type=kind, headers=headers)  # type: ignore[return-value]


async def _in_turn(parts: Iterator[bytes]) -> AsyncIterator[bytes]:
    """Give the parts to an asynchronous server, which would gather them all first otherwise."""
    following = sync_to_async(lambda: next(parts, None))
    while (part := await following()) is not None:
        yield part
