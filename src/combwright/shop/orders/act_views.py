"""What is done with an order as a whole: facts changed, opened, taken back, copied, split."""

from collections.abc import Callable

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from combwright.errors import CombwrightError
from combwright.shop.orders import actions, splitting
from combwright.shop.orders.forms import OrderForm, SeenForm, SplitForm, order_said
from combwright.shop.orders.models import Order
from combwright.shop.orders.views import (
    facts_with_customer,
    form_page,
    order_or_404,
    posted,
    seen_by,
    status,
)
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May


@form_page
@needs(May.ORDER)
def change(request: ShopRequest, number: str) -> HttpResponse:
    """Change an order's facts."""
    order = order_or_404(number)
    form = OrderForm(posted(request), initial=order_said(order))
    seen = seen_by(request, order)
    if form.is_valid():
        try:
            with transaction.atomic():
                facts = facts_with_customer(request.user, form)
                actions.change_order(order, request.user, facts, seen=seen)
        except actions.NotSo as error:
            # Who was told so saves over the other's change next time, knowingly.
            seen = order.version
            form.add_error(None, str(error))
        else:
            messages.success(request, _("Order %s is changed.") % number)
            return redirect("orders:one", number)
    context = {"order": order, "form": form, "seen": seen}
    return render(request, "orders/change.html", context, status=status(request))


def _done(
    request: ShopRequest, number: str, act: Callable[[Order, int], object], words: str
) -> HttpResponse:
    """Do something to an order as it was seen, and return to its page with what came of it."""
    order, form = order_or_404(number), SeenForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Not done: look at the order again, then try once more."))
        return redirect("orders:one", number)
    try:
        act(order, form.cleaned_data["seen"])
    except CombwrightError as error:
        messages.error(request, _("Not done: %s") % error)
    else:
        messages.success(request, words)
    return redirect("orders:one", number)


@require_POST
@needs(May.ORDER)
def open_it(request: ShopRequest, number: str) -> HttpResponse:
    """Let an order into plans."""
    return _done(
        request, number, lambda order, seen: actions.open_order(order, request.user, seen=seen),
        _("Order %s is open: the next plan counts on it.") % number,
    )  # fmt: skip


@require_POST
@needs(May.ORDER)
def draft(request: ShopRequest, number: str) -> HttpResponse:
    """Take an order back to be designed."""
    return _done(
        request, number, lambda order, seen: actions.back_to_draft(order, request.user, seen=seen),
        _("Order %s is taken back to be designed; no plan counts on it.") % number,
    )  # fmt: skip


@require_POST
@needs(May.ORDER)
def copy(request: ShopRequest, number: str) -> HttpResponse:
    """Make a new order like this one."""
    made = splitting.copy_order(order_or_404(number), request.user)
    messages.success(
        request,
        _("This is %(made)s, a copy of %(number)s, still to be designed and dated.")
        % {"made": made.number, "number": number},
    )
    return redirect("orders:one", made.number)


@form_page
@needs(May.ORDER)
def split(request: ShopRequest, number: str) -> HttpResponse:
    """Move copies into a further delivery."""
    order = order_or_404(number)
    wishes = list(order.wishes.all())
    form = SplitForm(posted(request), wishes=wishes, initial={"seen": order.version})
    if form.is_valid():
        try:
            made = splitting.split_order(
                order, request.user, form.moves(),
                due=form.due_day(), seen=form.cleaned_data["seen"],
            )  # fmt: skip
        except CombwrightError as error:
            form.add_error(None, str(error))
            form.data = {**request.POST.dict(), "seen": order.version}
        else:
            messages.success(request, _("Split: %s is a delivery of its own.") % made.number)
            return redirect("orders:one", made.number)
    can = order.state in actions.CHANGEABLE
    context = {"order": order, "form": form, "can": can, "wishes": wishes}
    return render(request, "orders/split.html", context, status=status(request))
