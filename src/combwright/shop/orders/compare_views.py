"""Two wishes side by side."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from combwright.shop.designs import drawings
from combwright.shop.orders import queries
from combwright.shop.orders.drawn import Drawer, Shown
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May


@dataclass(frozen=True, slots=True)
class Fact:
    """What is said of both; `differs` where they do not say the same."""

    name: str
    values: tuple[str, str]

    @property
    def differs(self) -> bool:
        """Whether the two are not alike."""
        return self.values[0] != self.values[1]


@require_safe
@needs(May.LOOK)
def compare(request: ShopRequest) -> HttpResponse:
    """Show two wishes side by side: seats, notes, and what the second gains and loses."""
    asked = [request.GET.get(name, "").strip()[:60] for name in ("a", "b")]
    found = [queries.wish_written(text) if text else None for text in asked]
    wishes = [wish for wish in found if wish is not None]
    shown = [Drawer(wishes).shown(wish) for wish in wishes] if len(wishes) == 2 else []
    context = {
        "asked": [_written(text, wish) for text, wish in zip(asked, found, strict=True)],
        "not_found": [t for t, wish in zip(asked, found, strict=True) if t and wish is None],
        "shown": shown,
        "facts": _facts(shown),
        "holes": _holes(shown),
        "against": _against(shown),
    }
    return render(request, "orders/compare.html", context)


def _written(text: str, wish: object) -> str:
    """Return a wish as people write it, so that it can be written over."""
    order, row = getattr(wish, "order", None), getattr(wish, "row", None)
    return f"{order} {row}" if order else text


def _against(shown: Sequence[Shown]) -> drawings.Against | None:
    layouts = [each.layout for each in shown if each.layout is not None]
    return drawings.against(layouts[0], layouts[1]) if len(layouts) == 2 else None


def _facts(shown: Sequence[Shown]) -> list[Fact]:
    if len(shown) != 2:
        return []
    names = {
        "what": _("What"), "quantity": _("How many"), "key": _("Key"), "layout": _("Layout"),
        "changes": _("Changes"), "kit": _("Kit"), "temperament": _("Temperament"),
        "a4": _("A4 in hertz"), "comb": _("Comb"),
    }  # fmt: skip
    first, second = (each.wish for each in shown)
    return [Fact(label, (_said(first, name), _said(second, name))) for name, label in names.items()]


def _said(wish: object, name: str) -> str:
    if name == "what":
        return str(wish.get_what_display())  # type: ignore[attr-defined]
    value = getattr(wish, name)
    return f"{float(value):g}" if name == "a4" else str(value) or "–"


def _holes(shown: Sequence[Shown]) -> list[tuple[int, drawings.HoleRow | None, object, bool]]:
    """Return the two instruments hole by hole, and where they differ."""
    layouts = [each.layout for each in shown if each.layout is not None]
    if len(layouts) != 2:
        return []
    left, right = ({row.hole: row for row in drawings.hole_rows(each)} for each in layouts)
    return [
        (hole, left.get(hole), right.get(hole), left.get(hole) != right.get(hole))
        for hole in range(1, max(*left, *right) + 1)
    ]
