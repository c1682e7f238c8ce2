"""A comb's chambers from above, side by side, drawn to one scale lengthwise and across.

Where a chamber's slot ends is shown by a line: beyond it lies the end margin. How far chambers lie
apart is no part of a comb's measures, so they are drawn evenly apart.
"""

from decimal import Decimal
from typing import Final

from combwright.comb.combs import Comb
from combwright.sheets.look import BRASS, COMB, INK, PAPER
from combwright.sheets.svg import Value, element, label, picture, rectangle

_WIDEST_PITCH: Final = 94.0
_NARROWEST_PITCH: Final = 66.0
_ROW: Final = 1000.0
_TALLEST: Final = 230.0
_SHARE: Final = 0.8
_EDGE: Final = 20.0
_HEAD: Final = 40.0
_FOOT: Final = 76.0
_NARROWEST: Final = 460.0


def chambers_svg(comb: Comb, *, title: str | None = None) -> str:
    """Draw the chambers of a comb from above, their rear ends upward, with their measures.

    Parameters
    ----------
    comb : Comb
        1 to 16 chambers.
    title : str or None
        Read out as the picture's name.

    Returns
    -------
    str
        An SVG document with its title and a description in words.
    """
    pitch = min(_WIDEST_PITCH, max(_NARROWEST_PITCH, _ROW / comb.holes))
    longest = max(chamber.length_mm for chamber in comb.chambers)
    widest = max(chamber.width_mm for chamber in comb.chambers)
    scale = min(_TALLEST / longest, pitch * _SHARE / widest)
    inside = comb.holes * pitch
    width = max(_NARROWEST, inside + 2 * _EDGE)
    front = _HEAD + 24 + scale * longest
    left = (width - inside) / 2
    parts = [
        rectangle(
            left - 10, _HEAD - 22, inside + 20, scale * longest + 70,
            {"rx": 14, "fill": COMB, "stroke": INK, "stroke-width": 1.4},
        )
    ]  # fmt: skip
    for hole in range(1, comb.holes + 1):
        parts += _chamber(comb, hole, left + (hole - 0.5) * pitch, front, scale)
    key = "above the line: the end margin, which no slot may use"
    parts += [
        element("path", _margin_look(f"M{width / 2 - 210:g} {front + 56:g}h26")),
        label(width / 2 - 176, front + 61, key, _text(14.5, INK, anchor="start")),
    ]
    return picture(title or comb.title, _about(comb), (width, front + _FOOT), parts)


def _chamber(comb: Comb, hole: int, middle: float, front: float, scale: float) -> list[str]:
    chamber = comb.chambers[hole - 1]
    wide, long = scale * chamber.width_mm, scale * chamber.length_mm
    x, top = middle - wide / 2, front - long
    look: dict[str, Value] = {"rx": 4, "fill": PAPER, "stroke": INK, "stroke-width": 1.4}
    parts = [rectangle(x, top, wide, long, look)]
    if comb.end_margin_mm > 0:
        y = top + scale * comb.end_margin_mm
        parts.append(element("path", _margin_look(f"M{x - 4:.2f} {y:.2f}h{wide + 8:.2f}")))
    parts.append(label(middle, top - 7, measure(chamber.length_mm), _text(14.5, INK, bold=True)))
    parts.append(label(middle, front + 18, str(hole), _text(15.0, INK, bold=True)))
    return parts


def measure(value_mm: float) -> str:
    """Write a length with all its digits."""
    return format(Decimal(repr(value_mm)).normalize(), "f")


def _margin_look(path: str) -> dict[str, Value]:
    return {"d": path, "fill": "none", "stroke": BRASS, "stroke-width": 2.4}


def _text(
    size: float, colour: str, *, bold: bool = False, anchor: str = "middle"
) -> dict[str, Value]:
    look: dict[str, Value] = {"font-size": size, "fill": colour, "text-anchor": anchor}
    return {**look, "font-weight": 600} if bold else look


def _about(comb: Comb) -> str:
    lines = [f"The chambers of {comb.title} from above, hole 1 at the left, rear ends upward."]
    for hole, chamber in enumerate(comb.chambers, start=1):
        lines.append(
            f"Hole {hole}: {measure(chamber.length_mm)} mm long, {measure(chamber.width_mm)} mm "
            f"wide, {measure(chamber.depth_mm)} mm deep."
        )
    return " ".join(lines)
