"""Engraving: a staff becomes pictures, one for each line of music, drawn by verovio.

What the engraver draws is put in order: every picture stands alone, with its colours and type as
plain attributes, no style sheet, no script, no link to anywhere, and nothing that changes from one
time to the next. Heads of notes that cannot be played are framed.
"""

import re
import zlib
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from importlib.resources import files
from typing import Final
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import verovio

from combwright.sheets.look import FONT_FAMILY, INK, PAPER, WRONG
from combwright.sheets.mei import Staff
from combwright.sheets.svg import clean

#: A line as wide as a page between its margins, and a narrow one for a telephone; in millimetres
#: when the five lines of a staff are as high as below.
WIDE_MM: Final = 182.0
NARROW_MM: Final = 76.0
STAFF_MM: Final = 6.4
#: The engraver's own units: half a space between two lines of the staff, times its scale.
_STAFF_UNITS: Final = 720
_PAGE_UNITS: Final = 10
_PAD: Final = 220.0
#: The engraver reckons with lower letters than ours; so much lower they clear what is above.
_LOWER: Final = 80
_SVG: Final = "http://www.w3.org/2000/svg"
_SHAPES: Final = {"ellipse", "path", "polygon", "polyline", "rect"}
#: Groups that a style sheet hides or that hold nothing.
_NOT_DRAWN: Final = re.compile("placeholder|Milestone(End)?$")
_PLACE: Final = re.compile(r"translate\((-?[\d.]+), (-?[\d.]+)\)")
_OPTIONS: Final = {
    "pageHeight": 100, "adjustPageHeight": True, "header": "none", "footer": "none",
    "pageMarginTop": 20, "pageMarginBottom": 20, "pageMarginLeft": 0, "pageMarginRight": 0,
    "spacingLinear": 0.28, "lyricSize": 4.4, "lyricWordSpace": 2.6, "lyricTopMinMargin": 3.0,
    "lyricHeightFactor": 1.35, "svgRemoveXlink": True, "svgFormatRaw": True, "xmlIdSeed": 1,
}  # fmt: skip

ElementTree.register_namespace("", _SVG)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of music as a picture.

    Parameters
    ----------
    svg : str
        An SVG document.
    width_mm, height_mm : float
        Its size on paper.
    heads, texts : int
        How many note heads and words were drawn.
    """

    svg: str
    width_mm: float
    height_mm: float
    heads: int
    texts: int


class Engraver:
    """Engraves one staff after the other; not for two threads at once."""

    def __init__(self, wide_mm: float = WIDE_MM) -> None:
        verovio.enableLog(verovio.LOG_OFF)
        # The engraver's fonts are found by the thread that loaded it, and by no other: a server's
        # threads have to be told where they are.
        self._toolkit = verovio.toolkit(False)
        self._toolkit.setResourcePath(str(files("verovio") / "data"))
        width = round(wide_mm / STAFF_MM * _STAFF_UNITS / _PAGE_UNITS)
        self._toolkit.setOptions({**_OPTIONS, "pageWidth": width})

    def lines(
        self, staff: Staff, title: str, *, framed: Collection[int] = (), ground: bool = True
    ) -> tuple[Line, ...]:
        """Draw a staff.

        Parameters
        ----------
        staff : Staff
            What is drawn.
        title : str
            Read out as the pictures' name.
        framed : collection of int
            The notes whose heads are framed.
        ground : bool
            Whether the paper's colour is painted, with a margin around the music.
        """
        if not self._toolkit.loadData(staff.mei):
            raise ValueError("the engraver does not take a staff of ours")
        marked = {f"h{n}" for n, note in enumerate(staff.heads, start=1) if note in framed}
        count = self._toolkit.getPageCount()
        mark = f"{zlib.crc32(staff.mei.encode()):08x}"
        return tuple(
            _line(
                self._toolkit.renderToSVG(page), f"{title}, line {page} of {count}",
                f"{mark}-{page}", marked, ground=ground,
            )
            for page in range(1, count + 1)
        )  # fmt: skip


def _line(svg: str, title: str, mark: str, framed: Collection[str], *, ground: bool) -> Line:
    root = ElementTree.fromstring(svg)
    glyphs, page = _parts(root)
    width, height = (float(v) for v in page.get("viewBox", "0 0 1 1").split()[2:])
    heads = [each for each in page.iter(f"{{{_SVG}}}g") if each.get("class") == "note"]
    for head in heads:
        if head.get("id") in framed:
            head.append(_frame(head))
    for verse in page.iterfind(f".//{{{_SVG}}}g[@class='verse']//{{{_SVG}}}text"):
        verse.set("y", f"{float(verse.get('y', '0')) + _LOWER:g}")
    texts = sum(_straightened(text) for text in page.iter(f"{{{_SVG}}}text"))
    _tidy(page, glyphs, mark)
    pad = _PAD if ground else 0.0
    size = (width + 2 * pad, height + 2 * pad)
    whole = Element(
        f"{{{_SVG}}}svg",
        {
            "viewBox": f"{-pad:g} {-pad:g} {size[0]:g} {size[1]:g}", "role": "img",
            "aria-labelledby": f"title-{mark}", "font-family": FONT_FAMILY, "fill": INK,
        },
    )  # fmt: skip
    named = ElementTree.SubElement(whole, f"{{{_SVG}}}title", {"id": f"title-{mark}"})
    named.text = clean(title)
    if ground:
        look = {"x": f"{-pad:g}", "y": f"{-pad:g}", "fill": PAPER}
        sides = {"width": f"{size[0]:g}", "height": f"{size[1]:g}"}
        ElementTree.SubElement(whole, f"{{{_SVG}}}rect", {**look, **sides})
    whole.append(glyphs)
    whole.extend(page)
    scale = STAFF_MM / _STAFF_UNITS
    text = ElementTree.tostring(whole, "unicode")
    return Line(text, size[0] * scale, size[1] * scale, len(heads), texts)


def _parts(root: Element) -> tuple[Element, Element]:
    """Return the glyphs and the page of what the engraver drew."""
    glyphs = root.find(f"{{{_SVG}}}defs")
    page = root.find(f"{{{_SVG}}}svg")
    if page is None:
        raise ValueError("the engraver drew no page")
    return Element(f"{{{_SVG}}}defs") if glyphs is None else glyphs, page


def _frame(note: Element) -> Element:
    """Draw a dashed frame around a note's head, as around a plate that is missing."""
    head = next(each for each in note.iter(f"{{{_SVG}}}use"))
    place = _PLACE.search(head.get("transform", ""))
    x, y = (float(v) for v in place.groups()) if place else (0.0, 0.0)
    return Element(
        f"{{{_SVG}}}rect",
        {
            "x": f"{x - 75:g}", "y": f"{y - 165:g}", "width": "365", "height": "330", "rx": "60",
            "fill": "none", "stroke": WRONG, "stroke-width": "34", "stroke-dasharray": "90 50",
            "class": "not-there",
        },
    )  # fmt: skip


def _straightened(text: Element) -> int:
    """Turn text within text within text into one line of it; return how many were found."""
    inner = list(text.iter())
    words = "".join(each.text or "" for each in inner).strip()
    size = next(
        (s for each in inner[::-1] if (s := each.get("font-size")) not in (None, "0px")), ""
    )
    for child in list(text):
        text.remove(child)
    text.text = clean(words)
    text.set("font-size", (size or "405px").removesuffix("px"))
    text.set("font-weight", "600")
    return 1 if words else 0


def _tidy(page: Element, glyphs: Element, mark: str) -> None:
    """Take out names that change with every run, and say what the style sheet said."""
    for glyph in glyphs:
        glyph.set("id", f"{_code(glyph.get('id', ''))}-{mark}")
    for each in page.iter():
        for child in each.findall("*[@class]"):
            words = child.get("class", "").split()
            if any(_NOT_DRAWN.search(word) for word in words):
                each.remove(child)
            else:
                child.set("class", " ".join(words[:1]))
        each.attrib.pop("id", None)
        name = each.tag.rpartition("}")[2]
        if name in _SHAPES and "stroke" not in each.attrib:
            each.set("stroke", INK)
        elif name == "use":
            each.set("href", f"#{_code(each.get('href', ''))}-{mark}")


def _code(name: str) -> str:
    """Return the code point that a glyph's name begins with."""
    return name.lstrip("#").partition("-")[0]


def texts_of(line: Line) -> Iterator[str]:
    """Yield the words of a line of music, in the order in which they were drawn."""
    root = ElementTree.fromstring(line.svg)
    yield from (each.text or "" for each in root.iter(f"{{{_SVG}}}text"))
