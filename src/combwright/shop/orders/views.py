"""Orders looked at, and made."""

from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from combwright.shop.designs.queries import workshop
from combwright.shop.look.stretches import stretch
from combwright.shop.orders import actions, customer_actions, drawn, queries
from combwright.shop.orders.forms import OrderForm, SearchForm, SeenForm
from combwright.shop.orders.models import Customer, Order
from combwright.shop.orders.row_forms import RowForm
from combwright.shop.orders.states import STATES, STEPS, State
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.models import Person
from combwright.shop.people.roles import May

PAGE: Final = 50
form_page = require_http_methods(["GET", "HEAD", "POST"])


def posted(request: HttpRequest) -> Any:
    """Return what was sent, None when a page is only looked at."""
    return request.POST if request.method == "POST" else None


def status(request: HttpRequest) -> int:
    """Return the status of a form that is shown (again)."""
    return 422 if request.method == "POST" else 200


def order_or_404(number: str) -> Order:
    """Return an order by its number."""
    return get_object_or_404(Order.objects.select_related("customer"), number=number)


def seen_by(request: HttpRequest, order: Order) -> int:
    """Return the version of an order that somebody looked at before they changed it.

    What was sent in place of a version is taken for one that has been changed since.
    """
    if request.method != "POST":
        return order.version
    form = SeenForm(request.POST)
    return int(form.cleaned_data["seen"]) if form.is_valid() else 0


@require_safe
@needs(May.LOOK)
def listed(request: ShopRequest) -> HttpResponse:
    """List orders, those that a search finds."""
    form = SearchForm(request.GET)
    found = queries.orders_found(form.search())
    page = Paginator(found, PAGE).get_page(request.GET.get("page"))
    rows = [(order, drawn.in_few_words(list(order.wishes.all()))) for order in page]
    filters = request.GET.copy()
    filters.pop("page", None)
    context = {"form": form, "page": page, "rows": rows, "filters": filters.urlencode()}
    return render(request, "orders/list.html", context)


@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, number: str) -> HttpResponse:
    """Show an order: its facts, wishes, plates, instruments, links and timeline."""
    order = queries.order_shown(number)
    if order is None:
        raise Http404(_("There is no order %s.") % number)
    wishes = list(order.wishes.all())
    shares = queries.shares_of(order)
    yes = next((each for each in shares if each.yes_at), None)
    plates = order.taken.select_related("bin", "batch").order_by("pk")
    context = {
        "order": order,
        "shown": drawn.all_shown(wishes),
        "wishes": wishes,
        "currency": workshop().currency,
        "copies": sum(wish.quantity for wish in wishes),
        "changeable": order.state in actions.CHANGEABLE,
        "following": _following(order.state),
        "plates": Paginator(plates, PAGE).get_page(request.GET.get("page")),
        "shares": shares,
        "yes": yes,
        "changed_since": yes is not None and queries.changed_since_yes(yes, order),
        "steps": stretch(order.steps.select_related("by"), request.GET, PAGE),
    }
    return render(request, "orders/order.html", context)


def _following(state: str) -> list[str]:
    """Return what may follow a state, in words."""
    words = dict(STATES)
    return [str(words[each.value]) for each in State if each in STEPS[State(state)]]


@form_page
@needs(May.ORDER)
def new(request: ShopRequest) -> HttpResponse:
    """Make an order with its first row, or without any, to be designed on the comb."""
    design_it = "design" in request.POST
    facts_form = OrderForm(posted(request), new=True, initial=_begun(request))
    row_form = RowForm(None if design_it else posted(request), prefix="row")
    good = facts_form.is_valid()
    if good and (design_it or row_form.is_valid()):
        rows = [] if design_it else [row_form.facts()]
        try:
            order = _made(request.user, facts_form, rows)
        except actions.NotSo as error:
            facts_form.add_error(None, str(error))
        else:
            messages.success(request, _("Order %s is made.") % order.number)
            return redirect("orders:wish-new" if design_it else "orders:one", order.number)
    context = {"form": facts_form, "row_form": row_form}
    return render(request, "orders/new.html", context, status=status(request))


@transaction.atomic
def _made(person: Person, form: OrderForm, rows: list[Any]) -> Order:
    return actions.make_order(person, facts_with_customer(person, form), rows)


def facts_with_customer(person: Person, form: OrderForm) -> dict[str, Any]:
    """Return an order's facts; a new customer is written down for it."""
    facts = form.facts()
    if form.cleaned_data["new_name"]:
        name = form.cleaned_data["new_name"]
        facts["customer"] = customer_actions.make_customer(person, {"name": name})
    return facts


def _begun(request: HttpRequest) -> dict[str, Any]:
    """Return what a new order begins with: the customer whose page one comes from."""
    key = request.GET.get("customer", "")
    if not (key.isascii() and key.isdecimal() and len(key) <= 18):
        return {}
    customer = Customer.objects.filter(pk=int(key), erased_at=None).first()
    return {"customer": f"{customer.name} #{customer.pk}"} if customer else {}
