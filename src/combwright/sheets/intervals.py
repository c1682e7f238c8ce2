"""Differences drawn as intervals over the band of a margin, with a mark for the verdict."""

from dataclasses import dataclass
from typing import Final

from combwright.ear.compared import Difference
from combwright.ear.equivalence import Verdict
from combwright.sheets.figures import MINUS, signed
from combwright.sheets.look import INK, PAPER, PLATE, QUIET, WRONG
from combwright.sheets.svg import Value, element, label, rectangle

#: The colours repeat what the marks' shapes say.
COLOURS: Final[dict[Verdict, str]] = {"the same": INK, "different": WRONG, "cannot tell": QUIET}
HEAD: Final[dict[str, Value]] = {"font-size": 15.0, "font-weight": 600, "fill": INK}
_MARK: Final = 5.0
_CAP: Final = 4.0


@dataclass(frozen=True, slots=True)
class Panel:
    """A column of a drawing in which differences are drawn.

    Parameters
    ----------
    x, width : float
        Its place.
    margin : float
        Within it counts as the same.
    reach : float
        The difference at its edges; what lies beyond is drawn as an arrow there.
    unit : str
        Written with its heading.
    """

    x: float
    width: float
    margin: float
    reach: float
    unit: str

    def at(self, value: float) -> float:
        """Return where a difference is drawn; beyond the edges, at the edge."""
        inside = min(max(value, -self.reach), self.reach)
        return self.x + self.width * (inside / self.reach + 1) / 2


def panel_ground(panel: Panel, head: str, top: float, bottom: float) -> str:
    """Draw a panel's heading, scale, zero line, and the band between the margins."""
    left, right = panel.at(-panel.margin), panel.at(panel.margin)
    small: dict[str, Value] = {"font-size": 12.5, "fill": QUIET}
    parts = [
        rectangle(left, top, right - left, bottom - top, {"fill": PLATE, "class": "margin"}),
        label(
            panel.at(0),
            top - 28,
            f"{head}, {panel.unit}",
            {"font-size": 15.0, "font-weight": 600, "fill": INK},
        ),
    ]
    for value in (-panel.margin, 0.0, panel.margin):
        x = panel.at(value)
        text = f"{value:+g}".replace("-", MINUS) if value else "0"
        parts.append(label(x, top - 8, text, small))
        look: dict[str, Value] = {"stroke": QUIET, "stroke-width": 1.0}
        if value:
            look["stroke-dasharray"] = "5 4"
        parts.append(_line(x, top, x, bottom, look))
    return element("g", {"class": "panel"}, *parts)


def interval(panel: Panel, y: float, found: Difference) -> str:
    """Draw the interval of a difference and its middle; a ring alone where there is no interval."""
    if found.difference is None:
        return ""
    parts = []
    verdict: Verdict = "cannot tell"
    if found.estimate is not None:
        verdict = found.estimate.verdict(panel.margin)
        low, high = found.estimate.interval()
        look: dict[str, Value] = {"stroke": COLOURS[verdict], "stroke-width": 2.0}
        parts.append(_line(panel.at(low), y, panel.at(high), y, look))
        parts += [_end(panel, y, end, look) for end in (low, high)]
    if abs(found.difference) <= panel.reach:
        parts.append(verdict_mark(panel.at(found.difference), y, verdict))
    else:
        parts.append(_number(panel, y, found.difference, COLOURS[verdict]))
    return element("g", {"class": "difference"}, *parts)


def _number(panel: Panel, y: float, value: float, colour: str) -> str:
    """Write a difference that lies beyond the panel, beside the arrow."""
    side: dict[str, Value] = {"text-anchor": "end" if value > 0 else "start"}
    x = panel.at(value) + (-12 if value > 0 else 12)
    return label(x, y + 4.5, signed(value), {"font-size": 13.0, "fill": colour, **side})


def _end(panel: Panel, y: float, end: float, look: dict[str, Value]) -> str:
    """Draw an interval's end as a small bar, or as an arrow where it lies beyond the panel."""
    x = panel.at(end)
    if abs(end) <= panel.reach:
        return _line(x, y - _CAP, x, y + _CAP, look)
    back = x - 7 if end > 0 else x + 7
    path = f"M{back:.1f} {y - 5:.1f}L{x:.1f} {y:.1f}L{back:.1f} {y + 5:.1f}"
    return element("path", {"d": path, "fill": "none", "class": "beyond", **look})


def verdict_mark(x: float, y: float, verdict: Verdict) -> str:
    """Draw a disc for the same, a standing square for different, a ring for neither."""
    colour = COLOURS[verdict]
    if verdict == "different":
        half = _MARK + 1.5
        path = f"M{x:.1f} {y - half:.1f}l{half:g} {half:g}l{-half:g} {half:g}l{-half:g} {-half:g}Z"
        return element("path", {"d": path, "fill": colour, "class": "mark-different"})
    if verdict == "the same":
        return element(
            "circle", {"cx": x, "cy": y, "r": _MARK, "fill": colour, "class": "mark-same"}
        )
    ring: dict[str, Value] = {"fill": PAPER, "stroke": colour, "stroke-width": 2.0}
    return element("circle", {"cx": x, "cy": y, "r": _MARK, **ring, "class": "mark-untold"})


def _line(x1: float, y1: float, x2: float, y2: float, look: dict[str, Value]) -> str:
    return element("line", {"x1": x1, "y1": y1, "x2": x2, "y2": y2, **look})
