"""The plates set aside for one order, seat by seat: pinning them, and giving them back."""

from typing import Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from combwright.errors import CombwrightError
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.plans import actions, queries
from combwright.shop.plans.models import Taken

PAGE: Final = 50


@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, number: str) -> HttpResponse:
    """Show which plate each seat of an order has, and where it is on its way."""
    return _one(request, get_object_or_404(Order, number=number))


def _one(request: ShopRequest, order: Order, refused: str = "") -> HttpResponse:
    taken = queries.taken_of(order)
    page = Paginator(taken, PAGE).get_page(request.GET.get("page"))
    parts = order.taken_parts.select_related("item").order_by("pk")
    context = {
        "order": order, "page": page, "parts": parts, "refused": refused,
        "held": queries.held_aside(taken), "is_aside": order.state == State.ASIDE,
    }  # fmt: skip
    return render(request, "plans/order.html", context, status=409 if refused else 200)


@require_POST
@needs(May.PLAN)
def give_back(request: ShopRequest, number: str) -> HttpResponse:
    """Give back what is set aside for an order; it is planned anew."""
    order = get_object_or_404(Order, number=number)
    version = request.POST.get("version", "")
    try:
        seen = int(version) if version.isdecimal() else None
        actions.give_back(request.user, order, seen=seen)
    except CombwrightError as error:
        order.refresh_from_db()
        return _one(request, order, str(error))
    messages.success(request, _("Done: order %s gave its plates back.") % order.number)
    return redirect("plans:order", order.number)


@require_POST
@needs(May.PLAN)
def pin(request: ShopRequest, key: int) -> HttpResponse:
    """Tie a plate to its order, or let it go again."""
    taken = get_object_or_404(Taken.objects.select_related("order"), pk=key)
    pinned = request.POST.get("pinned") == "yes"
    try:
        actions.pin(request.user, taken, pinned=pinned)
    except actions.NotPinned as error:
        return _one(request, taken.order, str(error))
    words = _("%s is pinned: no plan moves its plate.") if pinned else _("%s is no longer pinned.")
    messages.success(request, words % taken.place)
    return redirect("plans:order", taken.order.number)
