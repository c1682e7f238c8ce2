"""Labels for bins and orders, each with a QR code, on a sheet of labels."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from combwright.allocation.workshop import LabelSheet, Workshop
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.codes import qr_code
from combwright.sheets.typeset import Press, pages, shortened

#: Width and height in millimetres. Source: docs/sources.md, [iso-216] A4; letter is 8.5 by 11 in.
PAPERS: Final = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
#: A code smaller than this is hard to scan, text beside it hard to read (common practice).
LEAST_WIDTH_MM: Final = 24.0
LEAST_HEIGHT_MM: Final = 10.0
#: More no label could show; the QR code still holds a long name in full.
_MOST_LETTERS: Final = 60


@dataclass(frozen=True, slots=True)
class Label:
    """A label.

    Parameters
    ----------
    code : str
        What its QR code holds, printed large.
    headline : str
        Second in size: a bin's note, an order's due date.
    lines : tuple of str
        Small print.
    """

    code: str
    headline: str = ""
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LabelPlace:
    """Where a label lies on its sheet, in millimetres from the upper left corner."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


def label_places(sheet: LabelSheet, paper: Literal["A4", "letter"]) -> tuple[LabelPlace, ...]:
    """Return the places of a sheet's labels, row by row from the top left.

    The margins at the right and at the bottom equal those at the left and at the top.

    Raises
    ------
    BadSheet
        If so many rows or columns do not fit the paper.
    """
    _check(sheet)
    width, height = PAPERS[paper]
    wide = (width - 2 * sheet.left_mm - (sheet.columns - 1) * sheet.gap_x_mm) / sheet.columns
    high = (height - 2 * sheet.top_mm - (sheet.rows - 1) * sheet.gap_y_mm) / sheet.rows
    if wide < LEAST_WIDTH_MM:
        raise _too_many(sheet.columns, "columns", paper, width, wide, LEAST_WIDTH_MM)
    if high < LEAST_HEIGHT_MM:
        raise _too_many(sheet.rows, "rows", paper, height, high, LEAST_HEIGHT_MM)
    return tuple(
        LabelPlace(
            sheet.left_mm + column * (wide + sheet.gap_x_mm),
            sheet.top_mm + row * (high + sheet.gap_y_mm),
            wide,
            high,
        )
        for row in range(sheet.rows)
        for column in range(sheet.columns)
    )


def _check(sheet: LabelSheet) -> None:
    for count, what in ((sheet.rows, "rows"), (sheet.columns, "columns")):
        if count < 1:
            raise BadSheet(f"A sheet of labels with {count} {what} holds none; give 1 or more.")
    lengths = {
        "top_mm": sheet.top_mm,
        "left_mm": sheet.left_mm,
        "gap_x_mm": sheet.gap_x_mm,
        "gap_y_mm": sheet.gap_y_mm,
    }
    for name, length in lengths.items():
        if not (math.isfinite(length) and length >= 0):
            raise BadSheet(f"{name} of the sheet of labels is {length:g}; give 0 or more.")


def _too_many(
    count: int, what: str, paper: str, across: float, each: float, least: float
) -> BadSheet:
    side = "width" if what == "columns" else "height"
    left = f"leave {each:.1f} mm for each label" if each > 0 else "leave nothing for the labels"
    return BadSheet(
        f"{count} {what} of labels do not fit: on {paper} ({across:g} mm) the margins and gaps "
        f"{left}, and the least {side} is {least:g} mm; give fewer {what} or narrower margins."
    )


def labels_pdf(
    labels: Sequence[Label],
    *,
    workshop: Workshop,
    title: str = "Labels",
    used: int = 0,
    shared: Press | None = None,
) -> bytes:
    """Set labels on the workshop's label sheet and paper.

    Parameters
    ----------
    labels : sequence of Label
        In the order of the sheet, row by row.
    workshop : Workshop
        Gives the sheet and the paper.
    title : str
        The document's.
    used : int
        How many places of the first sheet are taken already.
    shared : Press or None
        A press to share among many sheets.

    Raises
    ------
    BadSheet
        If there are no labels, the sheet does not fit the paper, `used` is no place of it, or a
        code is empty or too long.
    """
    if not labels:
        raise BadSheet("There are no labels to print; give at least one.")
    places = label_places(workshop.labels, workshop.paper)
    if not 0 <= used < len(places):
        raise BadSheet(
            f"{used} places of the first sheet are said to be used; give 0 to {len(places) - 1}."
        )
    sheets: list[list[dict[str, object]]] = []
    for place_number, label in enumerate(labels, start=used):
        sheet, spot = divmod(place_number, len(places))
        if sheet == len(sheets):
            sheets.append([])
        sheets[sheet].append(_placed(label, places[spot]))
    data = {"paper": workshop.paper, "title": title, "pages": sheets}
    return pages("labels", data, shared)


def _placed(label: Label, place: LabelPlace) -> dict[str, object]:
    return {
        "x": place.x_mm,
        "y": place.y_mm,
        "width": place.width_mm,
        "height": place.height_mm,
        "qr": qr_code(label.code).svg,
        "code": shortened(label.code, _MOST_LETTERS),
        "headline": shortened(label.headline, _MOST_LETTERS),
        "lines": [shortened(line, _MOST_LETTERS) for line in label.lines if line],
    }
