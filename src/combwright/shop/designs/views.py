"""Designs looked at: the overview, a layout, a comb, the workshop's numbers."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.combs import Comb
from combwright.notes.keys import Key
from combwright.shop.designs import drawings, queries
from combwright.shop.designs.forms import KeyForm
from combwright.shop.designs.models import Design
from combwright.shop.designs.numbers import shown
from combwright.shop.designs.places import links
from combwright.shop.designs.queries import KnownLayout, NoSuchDesign
from combwright.shop.designs.workshop_form import WorkshopForm, filled_with
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May

PAGE: Final = 50
#: Drawn on the overview; the others are a page further on.
_MOST_DRAWN: Final = 12


@dataclass(frozen=True, slots=True)
class Card:
    """A layout as the overview shows it, in the chosen key."""

    known: KnownLayout
    drawing: SafeString
    blow: str
    draw: str


@require_safe
@needs(May.LOOK)
def overview(request: ShopRequest) -> HttpResponse:
    """Show the layouts, each drawn in the chosen key, the combs and the workshop's numbers."""
    form = KeyForm(request.GET)
    key = form.chosen()
    layouts, combs = queries.layouts(), queries.combs()
    usual = next(each.comb for each in combs if each.usual)
    own = [each for each in layouts if each.own]
    shipped = [each for each in layouts if not each.own]
    context = {
        "key_form": form,
        "key": key.name,
        "own": [_card(each, key, usual) for each in own[:_MOST_DRAWN]],
        "more_own": len(own) - _MOST_DRAWN,
        "shipped": [_card(each, key, usual) for each in shipped],
        "combs": combs[:PAGE],
        "workshop": queries.workshop(),
    }
    return render(request, "designs/list.html", context)


def _card(known: KnownLayout, key: Key, usual: Comb) -> Card:
    sounding = known.layout.in_key(key)
    comb = drawings.comb_for(sounding, usual)
    drawing = drawings.drawn_layout(sounding, comb, small=True)
    return Card(known, drawing, *drawings.notes_of(sounding))


@require_safe
@needs(May.LOOK)
def everything(request: ShopRequest, kind: str) -> HttpResponse:
    """List all of the shop's own of a kind, retired ones too."""
    found = Design.objects.filter(kind=kind).select_related("changed_by").defer("toml")
    page = Paginator(found.order_by("title_key"), PAGE).get_page(request.GET.get("page"))
    context = {"kind": kind, "page": page}
    return render(request, "designs/all.html", context)


def known_or_404(kind: str, code: str) -> Any:
    """Return a comb or layout by its code, own or shipped.

    Raises
    ------
    Http404
        If there is none.
    """
    try:
        return queries.comb(code) if kind == Design.COMB else queries.layout(code)
    except NoSuchDesign as error:
        raise Http404(str(error)) from error


@require_safe
@needs(May.LOOK)
def layout(request: ShopRequest, code: str) -> HttpResponse:
    """Show a layout in the chosen key: drawn, seat by seat, and against the standard one."""
    form = KeyForm(request.GET)
    key = form.chosen()
    found = known_or_404(Design.LAYOUT, code)
    sounding, usual = found.in_key(key), queries.usual_comb()
    comb = drawings.comb_for(sounding, usual)
    context = {
        **about(Design.LAYOUT, code),
        "key_form": form,
        "key": key.name,
        "layout": found,
        "comb": comb,
        "usual": usual,
        "too_long": comb is not usual,
        "drawing": drawings.drawn_layout(sounding, comb),
        "rows": list(drawings.hole_rows(sounding)),
        "against": drawings.against(catalogue_layout("standard").in_key(key), sounding),
    }
    return render(request, "designs/layout.html", context)


@require_safe
@needs(May.LOOK)
def comb(request: ShopRequest, code: str) -> HttpResponse:
    """Show a comb: its chambers drawn, and its measures."""
    found = known_or_404(Design.COMB, code)
    context = {
        **about(Design.COMB, code),
        "comb": found,
        "usual": _is_usual(code),
        "drawing": drawings.drawn_comb(found),
        "rows": list(drawings.chamber_facts(found)),
        "facts": list(_deck_facts(found)),
    }
    return render(request, "designs/comb.html", context)


def _deck_facts(comb: Comb) -> Iterator[tuple[str, str]]:
    mounts = {"any": _("at either end"), "front": _("at the front"), "rear": _("at the rear")}
    yield _("End margin"), f"{shown(comb.end_margin_mm)} mm"
    yield _("Upper deck takes plates mounted"), mounts[comb.upper.mount]
    yield _("Room under the upper cover"), f"{shown(comb.upper.cover_clear_mm)} mm"
    yield _("Lower deck takes plates mounted"), mounts[comb.lower.mount]
    yield _("Room under the lower cover"), f"{shown(comb.lower.cover_clear_mm)} mm"


def _is_usual(code: str) -> bool:
    usual = Design.objects.filter(usual=True).values_list("code", flat=True).first()
    return (usual or queries.SHIPPED_COMB) == queries.tidy_code(code)


@require_safe
@needs(May.LOOK)
def workshop(request: ShopRequest) -> HttpResponse:
    """Show the workshop's numbers."""
    form = WorkshopForm(initial=filled_with(queries.workshop()))
    context = {**about(Design.WORKSHOP, queries.WORKSHOP), "groups": form.groups()}
    return render(request, "designs/workshop.html", context)


def about(kind: str, code: str) -> Mapping[str, Any]:
    """Return what every page of a design says: which it is, and where its other pages are."""
    code = queries.tidy_code(code)
    return {
        "kind": kind,
        "code": code,
        "design": queries.own(kind, code),
        "links": links(kind, code),
    }
