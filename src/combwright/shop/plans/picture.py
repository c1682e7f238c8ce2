"""A plan's shortages as a small picture: which waiting order lacks what."""

from collections.abc import Sequence
from typing import Final

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from combwright.sheets.svg import element, label, rectangle, words
from combwright.shop.plans.models import PlanOrder, PlanShortage

MOST_ORDERS: Final = 24
MOST_SHORTAGES: Final = 12
_CELL, _NAMES, _TOP = 22.0, 104.0, 84.0
_BAR: Final = 150.0
_GAP: Final = 14.0


def drawn_shortages(orders: Sequence[PlanOrder], shortages: Sequence[PlanShortage]) -> SafeString:
    """Return orders against shortages as SVG.

    A row is a shortage, a column an order that waits; a filled square says that it lacks that. The
    bar at the right is as long as many plates or parts are missing. The same stands in words in the
    lists of orders and of shortages.
    """
    grid = _CELL * len(orders)
    wide, high = _NAMES + grid + _GAP + _BAR + 44, _TOP + _CELL * len(shortages) + 8
    parts = [words("title", {"id": "lacking-title"}, _("Waiting orders and what they lack"))]
    parts += [_order(n, each) for n, each in enumerate(orders)]
    longest = max(each.missing for each in shortages)
    for n, shortage in enumerate(shortages):
        y = _TOP + _CELL * n
        parts.append(label(_NAMES - 8, y + 15, _name(shortage), {"text-anchor": "end"}))
        parts += [_cell(x, y, order, shortage) for x, order in enumerate(orders)]
        parts += _bar(_NAMES + grid + _GAP, y, shortage.missing, longest)
    svg = element(
        "svg",
        {"class": "lacking", "viewBox": f"0 0 {wide:g} {high:g}", "width": wide, "height": high,
         "role": "img", "aria-labelledby": "lacking-title", "xmlns": "http://www.w3.org/2000/svg"},
        *parts,
    )  # fmt: skip
    return mark_safe(svg)  # every value in a drawing is escaped by sheets.svg


def _order(column: int, row: PlanOrder) -> str:
    x = _NAMES + _CELL * column + _CELL / 2 + 4
    number = _short(str(row.order_id), 10)
    look = {"text-anchor": "start", "transform": f"rotate(-60 {x:g} {_TOP - 6:g})"}
    return label(x, _TOP - 6, number, look)


def _cell(column: int, y: float, order: PlanOrder, shortage: PlanShortage) -> str:
    x = _NAMES + _CELL * column
    if shortage.position in order.lacks:
        return rectangle(x + 3, y + 3, _CELL - 6, _CELL - 6, {"class": "lacks"})
    return element("circle", {"class": "has", "r": 1.5, "cx": x + _CELL / 2, "cy": y + _CELL / 2})


def _bar(x: float, y: float, missing: int, longest: int) -> list[str]:
    length = max(_BAR * missing / longest, 2.0)
    number = label(x + length + 6, y + 15, str(missing), {"text-anchor": "start"})
    return [rectangle(x, y + 4, length, _CELL - 8, {"class": "missing"}), number]


def _name(shortage: PlanShortage) -> str:
    names = shortage.said["parts"] or shortage.said["pitches"]
    if len(names) > 2:
        return _short(f"{names[0]}…{names[-1]}", 14)
    return _short(", ".join(names), 14)


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"
