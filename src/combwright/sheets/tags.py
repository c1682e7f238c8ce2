"""Labels for the things in the shop, each with a QR code, on sheets and rolls of any size.

Where a label has little room its text shrinks, then the lesser lines are left out; nothing is cut
off. A QR code is never printed finer than a camera reads: what does not fit is refused.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import typst

from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.codes import modules_of, qr_code
from combwright.sheets.label_sizes import LabelSize
from combwright.sheets.typeset import Press, on_one_line, pages

#: A module of a QR code is at least so wide: a phone at arm's length reads it (common practice).
LEAST_MODULE_MM: Final = 0.33
#: More width makes no code easier to read, and leaves less for the words.
_MOST_SIDE_MM: Final = 32.0
_USUAL_SHARE, _LARGEST_SHARE = 0.42, 0.5
#: So wide a module is read at once; a code takes more of its label's width until it has that.
_EASY_MODULE_MM: Final = 0.45
_LEAST_WORDS_MM: Final = (7.0, 2.0)
_GAP_MM: Final = 1.0
_TOO_LONG: Final = "does not fit: "


@dataclass(frozen=True, slots=True)
class Tag:
    """What a label says.

    Parameters
    ----------
    code : str
        Printed large, whole on every label.
    holds : tuple of str
        What the QR code may hold: the first of them that the label has room for.
    headline : str
        Second in size.
    lines : tuple of str
        Small print, the most worth knowing first.
    """

    code: str
    holds: tuple[str, ...]
    headline: str = ""
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Box:
    """A box within a label, in millimetres from the label's upper left corner."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Parted:
    """A label parted into its code and its words."""

    held: str
    modules: int
    code: Box
    words: Box
    middle: bool

    @property
    def module_mm(self) -> float:
        """How wide a module is printed."""
        return self.code.width / self.modules


def parted(tag: Tag, size: LabelSize) -> Parted:
    """Part a label: the code beside the words, or above them where the label is not wide.

    Raises
    ------
    BadSheet
        If nothing that the code may hold can be printed large enough to read.
    """
    ways = (_beside, _above) if size.width_mm >= 1.3 * size.height_mm else (_above, _beside)
    usual = min(2.0, 0.06 * min(size.width_mm, size.height_mm))
    clear = size.kept_clear_mm
    for held in tag.holds:
        modules = modules_of(held, mends="M")
        least = modules * LEAST_MODULE_MM
        for margins in ((max(usual, clear[0]), max(usual, clear[1])), (0.0, 0.0)):
            for way in ways:
                boxes = way(size.width_mm, size.height_mm, least, margins)
                if boxes:
                    return Parted(held, modules, *boxes, middle=way is _above)
    raise _too_small(tag, size)


def _beside(
    width: float, height: float, least: float, margins: tuple[float, float]
) -> tuple[Box, Box] | None:
    high = height - 2 * margins[1]
    easy = least * _EASY_MODULE_MM / LEAST_MODULE_MM
    usual = max(_USUAL_SHARE * width, min(_LARGEST_SHARE * width, easy))
    side = max(min(high, usual, _MOST_SIDE_MM), least)
    rest = width - 2 * margins[0] - side - _GAP_MM
    if side > high or rest < _LEAST_WORDS_MM[0]:
        return None
    code = Box(margins[0], (height - side) / 2, side, side)
    return code, Box(margins[0] + side + _GAP_MM, margins[1], rest, high)


def _above(
    width: float, height: float, least: float, margins: tuple[float, float]
) -> tuple[Box, Box] | None:
    wide, high = width - 2 * margins[0], height - 2 * margins[1]
    for words in (max(0.3 * high, _LEAST_WORDS_MM[1]), _LEAST_WORDS_MM[1]):
        side = min(wide, high - words, _MOST_SIDE_MM)
        if side >= least:
            code = Box((width - side) / 2, margins[1], side, side)
            return code, Box(margins[0], margins[1] + side, wide, high - side)
    return None


def _too_small(tag: Tag, size: LabelSize) -> BadSheet:
    fewest = min(modules_of(held, mends="M") for held in tag.holds)
    side = math.ceil(fewest * LEAST_MODULE_MM)
    return BadSheet(
        f"The QR code of {on_one_line(tag.code)!r} cannot be read when it is smaller than "
        f"{fewest * LEAST_MODULE_MM:.1f} mm; a label of {size.width_mm:g} x {size.height_mm:g} mm "
        f"has no room for it. Take labels of {side} x {side + 2} mm or larger."
    )


def tags_pdf(
    tags: Sequence[Tag],
    size: LabelSize,
    *,
    title: str = "Labels",
    begin: int = 1,
    shared: Press | None = None,
) -> bytes:
    """Set labels on sheets or on a roll.

    Parameters
    ----------
    tags : sequence of Tag
        In the order of the sheet, row by row.
    size : LabelSize
        The labels, and where they lie.
    title : str
        The document's.
    begin : int
        The first free label of the first sheet, counted from 1.
    shared : Press or None
        A press to share among many runs.

    Raises
    ------
    BadSheet
        If there is nothing to print, the sizes do not fit the paper, `begin` is no label of a
        sheet, a code has no room, or a name cannot be printed large enough to read.
    """
    if not tags:
        raise BadSheet("There are no labels to print; choose at least one thing.")
    places = size.places()
    if not 1 <= begin <= len(places):
        raise BadSheet(
            f"A sheet of these has labels 1 to {len(places)}; it cannot begin at {begin}."
        )
    sheets: list[list[dict[str, object]]] = [[] for _ in range(sheets_for(len(tags), size, begin))]
    for number, tag in enumerate(tags, start=begin - 1):
        sheet, spot = divmod(number, len(places))
        place = places[spot]
        sheets[sheet].append({"x": place.x_mm, "y": place.y_mm, **_said(tag, size)})
    wide, high = size.page_mm
    data = {"page": {"width": wide, "height": high}, "title": title, "sheets": sheets}
    data["size"] = {"width": size.width_mm, "height": size.height_mm}
    try:
        return pages("tags", data, shared)
    except typst.TypstError as error:
        raise _put_plainly(error, size) from error


def sheets_for(labels: int, size: LabelSize, begin: int) -> int:
    """Return how many sheets so many labels take when the first sheet begins at `begin`."""
    return -(-(labels + begin - 1) // size.on_a_sheet)


def _put_plainly(error: typst.TypstError, size: LabelSize) -> Exception:
    found = str(error)
    if _TOO_LONG not in found:
        return error
    name = found.split(_TOO_LONG, 1)[1].split(" :end", 1)[0]
    return BadSheet(
        f"The name {name!r} is too long to be read on a label of {size.width_mm:g} x "
        f"{size.height_mm:g} mm; take larger labels or give it a shorter name."
    )


def _said(tag: Tag, size: LabelSize) -> dict[str, object]:
    parts = parted(tag, size)
    return {
        "qr": qr_code(parts.held, mends="M").svg,
        "at": _plain(parts.code),
        "words": _plain(parts.words),
        "middle": parts.middle,
        "code": on_one_line(tag.code),
        "headline": on_one_line(tag.headline),
        "lines": [line for line in map(on_one_line, tag.lines) if line],
    }


def _plain(box: Box) -> dict[str, float]:
    return {"x": box.x, "y": box.y, "width": box.width, "height": box.height}
