"""The walk through the racks: each tick is a request of its own, and may be sent twice."""

from collections.abc import Sequence
from typing import Any

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.errors import CombwrightError
from combwright.sheets.figures import how
from combwright.shop.bench import picking, trays
from combwright.shop.bench.asked import (
    asked_orders,
    asked_taken,
    back_of,
    by_script,
    in_address,
    told,
    walk_address,
)
from combwright.shop.bench.forms import ScanForm
from combwright.shop.bench.list_views import order_of
from combwright.shop.bench.scanned import pick_scanned
from combwright.shop.designs.queries import workshop
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.plans.models import Taken
from combwright.shop.rack.models import Entry

form_page = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@needs(May.PICK)
def walk(request: ShopRequest) -> HttpResponse:
    """Show the bins to go to for some orders, in the order of the walk."""
    return _walk(request, asked_orders(request), ScanForm())


def _walk(
    request: ShopRequest, orders: Sequence[Order], form: ScanForm, *, status: int = 200
) -> HttpResponse:
    places = trays.places(orders)
    being = [each for each in orders if each.state in picking.PICKED_IN]
    context = {
        "orders": orders,
        "named": in_address(orders),
        "here": walk_address(orders),
        "away": [each for each in orders if each.state not in picking.PICKED_IN],
        "stops": trays.stops([p for p in places if p.order.state in picking.PICKED_IN]),
        "lacking": [p for p in places if p.lacking and p.order in being],
        "done": sum(each.there for each in places),
        "total": len(places),
        "ready": bool(being) and all(p.there for p in places if p.order in being),
        "picking": [each for each in being if each.state == State.PICKING],
        "form": form,
        "scanned": request.GET.get("scanned", ""),
    }
    return render(request, "bench/walk.html", context, status=status)


def _place_words(taken: Taken) -> dict[str, str]:
    return {"bin": taken.bin.code, "order": taken.order.number, "place": taken.place}


@require_POST
@needs(May.PICK)
def pick(request: ShopRequest, key: int) -> HttpResponse:
    """Take a plate out of its bin."""
    taken = asked_taken(key)
    back = back_of(request, walk_address([taken.order]))
    try:
        picking.pick(request.user, taken)
    except CombwrightError as error:
        return told(request, back, wrong=str(error))
    # On the page its tick says so; a message for each of a hundred would bury it.
    return told(request, back)


@require_POST
@needs(May.PICK)
def unpick(request: ShopRequest, key: int) -> HttpResponse:
    """Put a plate back into its bin, where it stays set aside."""
    taken = asked_taken(key)
    back = back_of(request, walk_address([taken.order]))
    try:
        picking.unpick(request.user, taken)
    except CombwrightError as error:
        return told(request, back, wrong=str(error))
    return told(request, back)


@require_POST
@needs(May.PICK)
def scan(request: ShopRequest) -> HttpResponse:
    """Pick what a label names: the next plate of a bin, or that very plate."""
    orders = asked_orders(request)
    form = ScanForm(request.POST)
    if not form.is_valid():
        return _walk(request, orders, form, status=422)
    try:
        picked, words = pick_scanned(request.user, orders, form.cleaned_data["text"])
    except CombwrightError as error:
        form.add_error("text", str(error))
        if by_script(request):
            return JsonResponse({"words": str(error)}, status=409)
        return _walk(request, orders, form, status=422)
    if by_script(request):
        return JsonResponse({"words": words, "taken": picked.pk})
    return told(request, walk_address(orders, scanned=str(picked.pk)), words)


@require_POST
@needs(May.PICK)
def not_there(request: ShopRequest, key: int) -> HttpResponse:
    """Book a plate as missing, and go to what may take its place."""
    taken = asked_taken(key)
    back = back_of(request, walk_address([taken.order]))
    try:
        picking.not_there(request.user, taken)
    except CombwrightError as error:
        return told(request, back, wrong=str(error))
    words = _("Booked: the plate for %(place)s was not in bin %(bin)s.") % _place_words(taken)
    return told(request, instead_address(taken, back), words)


def instead_address(taken: Taken, back: str) -> str:
    """Return the page that offers what may take a plate's place; `back` is where it ends."""
    return f"{reverse('bench:instead', args=[taken.pk])}?{urlencode({'back': back})}"


@form_page
@needs(May.PICK)
def instead(request: ShopRequest, key: int) -> HttpResponse:
    """Show what may take the place of a plate that is gone; a POST sets one of it aside."""
    taken = asked_taken(key)
    back = back_of(request, walk_address([taken.order]))
    wrong = ""
    if request.method == "POST":
        try:
            chosen = picking.substitute(request.user, taken, request.POST.get("bin", ""))
        except CombwrightError as error:
            wrong = str(error)
        else:
            words = _("For %(place)s of order %(order)s, go to bin %(bin)s.")
            return told(request, back, words % _place_words(chosen))
    return render(
        request, "bench/instead.html", _instead(taken, back, wrong), status=422 if wrong else 200
    )


def _instead(taken: Taken, back: str, wrong: str) -> dict[str, Any]:
    still = taken.state == Taken.GONE and taken.order.state in picking.PICKED_IN
    lacked = _lacked(taken)
    # Whoever has just found a bin empty must not be sent there again first.
    offered = sorted(picking.options(taken), key=lambda each: each.bin == lacked) if still else ()
    return {
        "taken": taken,
        "still": still,
        "currency": workshop().currency if offered else "",
        "options": [(each, how(each)) for each in offered],
        "lacked": lacked,
        "back": back,
        "wrong": wrong,
        "can_put_back": taken.order.state == State.PICKING,
    }


def _lacked(taken: Taken) -> str:
    """Return the bin that a plate was not in; empty where it left in another way."""
    missing = taken.entry is not None and taken.entry.why == Entry.MISSING
    return taken.bin.code if missing else ""


@form_page
@needs(May.PICK)
def put_back(request: ShopRequest, key: int) -> HttpResponse:
    """Ask whether an order's plates go back into the racks; a POST puts them back."""
    order = order_of(key)
    if request.method == "POST":
        try:
            picking.put_order_back(request.user, order)
        except CombwrightError as error:
            return told(request, reverse("bench:list"), wrong=str(error))
        words = _("Order %s waits for the next plan; its plates are free again.") % order.number
        return told(request, reverse("bench:list"), words)
    lying = [p for p in trays.places([order]) if p.state == Taken.PICKED]
    context = {
        "order": order,
        "stops": trays.stops(lying),
        "back": back_of(request, walk_address([order])),
    }
    return render(request, "bench/put_back.html", context)
