"""The bench's first page: which orders are where, and what may be done with them."""

from typing import Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from combwright.errors import CombwrightError
from combwright.shop.bench import picking, trays
from combwright.shop.bench.asked import (
    MOST_ORDERS,
    asked_orders,
    back_of,
    in_address,
    told,
    walk_address,
)
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May, Role

PAGE: Final = 50
#: What each role looks at first, where there is any.
_FIRST: Final = {
    Role.PACKER: (State.PICKING, State.ASIDE, State.BUILT),
    Role.OFFICE: (State.BUILT, State.ASIDE),
    Role.MAKER: (State.BENCH, State.PICKING, State.ASIDE),
}
_LABELS: Final = {
    State.ASIDE: gettext_lazy("To pick"),
    State.PICKING: gettext_lazy("Being picked"),
    State.BENCH: gettext_lazy("On the bench"),
    State.BUILT: gettext_lazy("To send"),
}
_USUAL: Final = (State.PICKING, State.ASIDE, State.BENCH, State.BUILT)


@require_safe
@needs(May.LOOK)
def listed(request: ShopRequest) -> HttpResponse:
    """List the orders in one of the bench's states."""
    counts = trays.how_many()
    state = request.GET.get("state", "")
    if state not in counts:
        state = _first(request.user.role, counts)
    page = Paginator(trays.at_the_bench(state), PAGE).get_page(request.GET.get("page"))
    far = trays.how_far(page.object_list)
    shown = list(page.object_list)
    context = {
        "page": page,
        "rows": [(order, far.get(order.pk)) for order in shown],
        "state": state,
        "states": [(s.value, _LABELS[s], counts[s.value]) for s in trays.STATES],
        "all_here": in_address(shown[:MOST_ORDERS]),
        "ticked": request.GET.getlist("order"),
    }
    return render(request, "bench/list.html", context)


def _first(role: str, counts: dict[str, int]) -> str:
    wanted = _FIRST.get(Role(role), _USUAL) if role in list(Role) else _USUAL
    return next((s.value for s in (*wanted, *_USUAL) if counts[s.value]), wanted[0].value)


@require_POST
@needs(May.PICK)
def begin(request: ShopRequest) -> HttpResponse:
    """Begin to pick the orders that were chosen, and go to the walk for them."""
    chosen = [key for key in request.POST.getlist("order") if key.isdecimal() and len(key) < 19]
    back = back_of(request, f"{reverse('bench:list')}?state={State.ASIDE.value}")
    if not chosen:
        return told(request, back, wrong=_("Choose an order to pick; one tick is enough."))
    if len(chosen) > MOST_ORDERS:
        facts = {"n": len(chosen), "most": MOST_ORDERS}
        wrong = _("%(n)d orders are too many for one walk; choose up to %(most)d.") % facts
        return told(request, back, wrong=wrong)
    orders = list(Order.objects.filter(pk__in=[int(key) for key in chosen]))
    try:
        begun = picking.begin(request.user, orders)
    except CombwrightError as error:
        return told(request, back, wrong=str(error))
    return redirect(walk_address(begun) if begun else back)


@require_POST
@needs(May.PICK)
def to_the_bench(request: ShopRequest) -> HttpResponse:
    """Bring the orders of a walk to the bench, those whose plates are all there."""
    orders = asked_orders(request)
    left = []
    for order in orders:
        try:
            picking.to_the_bench(request.user, order)
        except CombwrightError as error:
            messages.error(request, str(error))
            left.append(order)
        else:
            messages.success(request, _("Order %s is on the bench.") % order.number)
    if left:
        return redirect(walk_address(left))
    return redirect(f"{reverse('bench:list')}?state={State.BENCH.value}")


def order_of(key: int) -> Order:
    """Return an order with its customer."""
    return get_object_or_404(Order.objects.select_related("customer"), pk=key)
