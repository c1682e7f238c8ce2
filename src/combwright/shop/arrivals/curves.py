"""A plan's chances as a small picture: acceptance against the share of bad plates."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from django.utils.formats import number_format
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from combwright.inspection.plans import Plan, Point, curve
from combwright.sheets.svg import element, label, words

_WIDE, _HIGH = 520.0, 260.0
_LEFT, _RIGHT, _TOP, _FOOT = 52.0, 16.0, 16.0, 52.0
#: The curve is drawn to where next to nothing is accepted.
_LEAST: Final = 0.005


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the table that says the same as the picture."""

    bad: int
    percent: float
    of_hundred: float


def drawn_curve(plan: Plan, marked: Sequence[int] = ()) -> SafeString:
    """Return the curve as SVG; `marked` are numbers of bad plates to put a spot at."""
    points = _points(plan)
    most = points[-1].share or 1.0
    line = " ".join(f"{_x(each.share, most):.1f},{_y(each.chance):.1f}" for each in points)
    title = _("Chance of acceptance against the share of bad plates")
    spots = [
        element("circle", {"class": "spot", "r": 5, "cx": _x(bad / plan.lot, most),
                           "cy": _y(plan.chance(bad))})
        for bad in marked
        if bad / plan.lot <= most
    ]  # fmt: skip
    svg = element(
        "svg",
        {"class": "curve", "viewBox": f"0 0 {_WIDE:g} {_HIGH:g}", "role": "img",
         "aria-labelledby": "curve-title", "xmlns": "http://www.w3.org/2000/svg"},
        words("title", {"id": "curve-title"}, title),
        *_axes(most),
        element("polyline", {"class": "chances", "points": line}),
        *spots,
    )  # fmt: skip
    return mark_safe(svg)  # every value in a drawing is escaped by sheets.svg


def rows(plan: Plan) -> list[Row]:
    """Return about ten points of the curve, exactly."""
    points = _points(plan)
    step = max(len(points) // 10, 1)
    return [Row(each.bad, 100 * each.share, 100 * plan.chance(each.bad)) for each in points[::step]]


def _points(plan: Plan) -> tuple[Point, ...]:
    """Return the curve from no bad plate to where hardly anything is accepted."""
    for share in (Fraction(1, 100), Fraction(1, 50), Fraction(1, 20), Fraction(1, 10),
                  Fraction(1, 5), Fraction(2, 5)):  # fmt: skip
        points = curve(plan, up_to=share)
        if points[-1].chance < _LEAST and len(points) > 1:
            return points
    return curve(plan)


def _x(share: float, most: float) -> float:
    return _LEFT + (_WIDE - _LEFT - _RIGHT) * share / most


def _y(chance: float) -> float:
    return _TOP + (_HIGH - _TOP - _FOOT) * (1 - chance)


def _axes(most: float) -> list[str]:
    bottom, right = _HIGH - _FOOT, _WIDE - _RIGHT
    parts = [
        element("path", {"class": "axis", "d": f"M{_LEFT:g} {_TOP:g}V{bottom:g}H{right:g}"}),
        element("path", {"class": "axis", "stroke-dasharray": "3 4",
                         "d": f"M{_LEFT:g} {_y(0.5):g}H{right:g}"}),
        label((_LEFT + right) / 2, _HIGH - 8, _("bad plates in the delivery, %"), {}),
    ]  # fmt: skip
    for chance in (0, 50, 100):
        parts.append(label(_LEFT - 8, _y(chance / 100) + 4, f"{chance} %", {"text-anchor": "end"}))
    for part, anchor in ((0.0, "middle"), (0.5, "middle"), (1.0, "end")):
        percent = 100 * most * part
        text = number_format(percent, 0 if percent >= 10 or not percent else 1)
        look = {"text-anchor": anchor}
        parts.append(label(_x(part * most, most), bottom + 18, text, look))
    return parts
