"""The rows of an order as plain forms: added, changed, removed."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from combwright.errors import CombwrightError
from combwright.shop.orders import actions, splitting
from combwright.shop.orders.forms import SeenForm
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.row_forms import RowForm, row_said
from combwright.shop.orders.views import form_page, order_or_404, posted, seen_by, status
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May


def _wish_or_404(key: int) -> Wish:
    return get_object_or_404(Wish.objects.select_related("order"), pk=key)


@form_page
@needs(May.WISH)
def add(request: ShopRequest, number: str) -> HttpResponse:
    """Add a row to an order."""
    return _row(request, order_or_404(number), None)


@form_page
@needs(May.WISH)
def change(request: ShopRequest, key: int) -> HttpResponse:
    """Change a row of an order."""
    wish = _wish_or_404(key)
    return _row(request, wish.order, wish)


def _row(request: ShopRequest, order: Order, wish: Wish | None) -> HttpResponse:
    form = RowForm(posted(request), initial=row_said(wish) if wish else None)
    seen = seen_by(request, order)
    if form.is_valid():
        try:
            actions.save_wish(order, request.user, wish, form.facts(), seen=seen)
        except CombwrightError as error:
            seen = order.version
            form.add_error(None, str(error))
        else:
            messages.success(request, _("Order %s is changed.") % order.number)
            return redirect("orders:one", order.number)
    can = order.state in actions.CHANGEABLE
    context = {"order": order, "wish": wish, "form": form, "seen": seen, "can": can}
    return render(request, "orders/row.html", context, status=status(request))


@require_POST
@needs(May.WISH)
def remove(request: ShopRequest, key: int) -> HttpResponse:
    """Take a row out of an order."""
    wish, form = _wish_or_404(key), SeenForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Not done: look at the order again, then try once more."))
        return redirect("orders:one", wish.order.number)
    row = wish.row
    try:
        splitting.remove_wish(wish.order, request.user, wish, seen=form.cleaned_data["seen"])
    except CombwrightError as error:
        messages.error(request, _("Not done: %s") % error)
    else:
        messages.success(request, _("Row %d is removed.") % row)
    return redirect("orders:one", wish.order.number)
