"""Bars of shares: how many tunes can be had how, each part told by its pattern before its colour.

Filled is what natural notes are enough for, hatched what takes bends, dotted what takes overbends,
and a dashed outline what cannot be had.
"""

from collections.abc import Sequence
from typing import Final

from combwright.sheets.look import BRASS, INK, PAPER, PLATE, WRONG
from combwright.sheets.svg import Value, element, label, rectangle

NATURAL, BENDS, OVERBENDS, NOT = "natural", "bends", "overbends", "not"
MEANINGS: Final = (
    (NATURAL, "natural notes are enough"),
    (BENDS, "with bends"),
    (OVERBENDS, "with overbends"),
    (NOT, "not to be had"),
)
_LABEL: Final = 13.5
_LETTER: Final = 7.4


def patterns(mark: str) -> str:
    """Return the definitions of the hatched and the dotted ground, their ids ending in `mark`."""
    square: dict[str, Value] = {"width": 9, "height": 9, "patternUnits": "userSpaceOnUse"}
    ground = rectangle(0, 0, 9, 9, {"fill": PLATE})
    stroke: dict[str, Value] = {"stroke": BRASS, "stroke-width": 3.2, "stroke-linecap": "square"}
    lines = element("path", {"d": "M-2.25 2.25L2.25 -2.25M0 9L9 0M6.75 11.25L11.25 6.75", **stroke})
    dots = [
        element("circle", {"cx": x, "cy": y, "r": 1.7, "fill": INK})
        for x, y in ((2.25, 2.25), (6.75, 6.75))
    ]
    return element(
        "defs",
        {},
        element("pattern", {"id": f"hatched-{mark}", **square}, ground, lines),
        element("pattern", {"id": f"dotted-{mark}", **square}, ground, *dots),
    )


def ground_of(kind: str, mark: str) -> dict[str, Value]:
    """Return how a part of a bar is filled and outlined."""
    if kind == NOT:
        return {"fill": PAPER, "stroke": WRONG, "stroke-width": 1.6, "stroke-dasharray": "5 3"}
    fills = {NATURAL: INK, BENDS: f"url(#hatched-{mark})", OVERBENDS: f"url(#dotted-{mark})"}
    return {"fill": fills[kind], "stroke": INK, "stroke-width": 1.2}


def parts_of(natural: int, with_bends: int, with_overbends: int, tunes: int) -> tuple[int, ...]:
    """Return how many tunes each part of a bar stands for; the parts add up to all."""
    return natural, with_bends - natural, with_overbends - with_bends, tunes - with_overbends


def share_bar(
    counts: Sequence[int], x: float, y: float, width: float, height: float, mark: str
) -> str:
    """Draw a bar of parts, each with its share of all where there is room to write it."""
    total = sum(counts)
    parts: list[str] = []
    labels: list[str] = []
    left = x
    for (kind, _), count in zip(MEANINGS, counts, strict=True):
        if not count:
            continue
        wide = width * count / total
        look = {**ground_of(kind, mark), "class": f"share {kind}"}
        parts.append(rectangle(left, y, wide, height, look))
        labels.append(_label(kind, percent(count, total), left, y, wide, height))
        left += wide
    return element("g", {"class": "shares"}, *parts, *labels)


def percent(count: int, total: int) -> str:
    """Write a share; one that is not nothing and not all never reads so."""
    share = 100 * count / total
    if 0 < share < 1:
        return "<1 %"
    return f"{min(share, 99) if count < total else share:.0f} %"


def _label(kind: str, text: str, x: float, y: float, wide: float, height: float) -> str:
    half = (_LETTER * len(text) + 8) / 2
    if wide < 2 * half + 4:
        return ""
    middle, low = x + wide / 2, y + height / 2
    look: dict[str, Value] = {"font-size": _LABEL, "font-weight": 600}
    written = label(middle, low + 4.7, text, {**look, "fill": PAPER if kind == NATURAL else INK})
    if kind in (NATURAL, NOT):
        return written
    plate = rectangle(middle - half, low - 9, 2 * half, 18, {"rx": 4, "fill": PAPER})
    return plate + written


def legend_entries(mark: str, x: float, y: float, kind: str, meaning: str) -> str:
    """Draw one entry of the legend: a piece of its ground and what it means."""
    piece = rectangle(x, y, 30, 16, ground_of(kind, mark))
    look: dict[str, Value] = {"font-size": 14.0, "fill": INK, "text-anchor": "start"}
    return piece + label(x + 38, y + 13, meaning, look)


def entry_width(meaning: str) -> float:
    """Return about how wide an entry of the legend is."""
    return 38 + 7.0 * len(meaning) + 22
