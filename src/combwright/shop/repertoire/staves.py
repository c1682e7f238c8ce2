"""Tabs under engraved staves: one picture for a page, pages of them for paper."""

from collections.abc import Sequence
from typing import Final
from xml.etree import ElementTree

from combwright.playing.costs import PlayingCosts
from combwright.playing.tabbing import Tab
from combwright.sheets.look import PAPER
from combwright.sheets.tabs import Progress, TabSheet, tab_lines_svg, tab_pages
from combwright.shop.designs.queries import workshop
from combwright.shop.repertoire.tab_forms import Asked

#: Notes that are engraved while somebody waits: about two seconds.
MOST_NOTES: Final = 1_500
_SVG: Final = "{http://www.w3.org/2000/svg}"


def is_engraved(found: Tab) -> bool:
    """Say whether a tab is short enough to be engraved while somebody waits."""
    return 0 < len(found.tune.notes) <= MOST_NOTES


def staff_svg(found: Tab, *, narrow: bool = False) -> str:
    """Return a tab under its engraved staff: all lines of music in one picture.

    Parameters
    ----------
    found : Tab
        Short enough to be engraved.
    narrow : bool
        Whether lines are broken for a telephone.
    """
    lines = [ElementTree.fromstring(svg) for svg in tab_lines_svg(found, narrow=narrow)]
    boxes = [[float(side) for side in line.get("viewBox", "").split()] for line in lines]
    width = max(box[2] for box in boxes)
    whole = ElementTree.Element(f"{_SVG}svg")
    ground = {"width": "100%", "height": "100%", "fill": PAPER}
    ElementTree.SubElement(whole, f"{_SVG}rect", ground)  # no seams between the lines
    down = 0.0
    for line, (_x, _y, wide, high) in zip(lines, boxes, strict=True):
        line.attrib.update(x="0", y=f"{down:g}", width=f"{wide:g}", height=f"{high:g}")
        whole.append(line)
        down += high
    size = {"width": f"{width / 20:g}", "height": f"{down / 20:g}"}
    whole.attrib.update(size, viewBox=f"0 0 {width:g} {down:g}")
    return ElementTree.tostring(whole, "unicode")


def tabs_pdf(
    tabs: Sequence[Tab], costs: PlayingCosts, asked: Asked, *, progress: Progress | None = None
) -> bytes:
    """Return tabs under their staves on the workshop's paper, one tune after the other."""
    sheet = TabSheet(asked.words(), workshop().paper)
    return tab_pages(tabs, costs, sheet, progress=progress)
