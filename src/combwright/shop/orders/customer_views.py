"""Customers: found, looked at, written down, given their data, and erased."""

from typing import Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from combwright.shop.look.stretches import stretch
from combwright.shop.orders import customer_actions, queries
from combwright.shop.orders.actions import NotSo
from combwright.shop.orders.customer_actions import PERSONAL, state_of
from combwright.shop.orders.customer_data import data_of
from combwright.shop.orders.drawn import in_few_words
from combwright.shop.orders.models import Customer
from combwright.shop.orders.page_forms import CustomerForm, EraseForm, FindCustomerForm
from combwright.shop.orders.views import form_page, posted, status
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.models import Person
from combwright.shop.people.roles import May, allowed

PAGE: Final = 50


def sees_contact(person: Person) -> bool:
    """Say whether somebody may see how customers are reached."""
    return allowed(person.role, May.ORDER) or allowed(person.role, May.SEND)


@require_safe
@needs(May.LOOK)
def everybody(request: ShopRequest) -> HttpResponse:
    """List customers by name."""
    contact = sees_contact(request.user)
    form = FindCustomerForm(request.GET, contact=contact)
    text = form.cleaned_data["text"] if form.is_valid() else ""
    found = queries.customers_found(text, contact=contact)
    page = Paginator(found, PAGE).get_page(request.GET.get("page"))
    orders = queries.orders_by_customer(page)
    rows = [(each, orders.get(each.pk, 0)) for each in page]
    context = {"form": form, "page": page, "rows": rows, "contact": contact}
    return render(request, "orders/customers.html", context)


@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, key: int) -> HttpResponse:
    """Show a customer with their orders and instruments."""
    customer = get_object_or_404(Customer, pk=key)
    page = stretch(queries.orders_of(customer), request.GET, PAGE)
    context = {
        "customer": customer,
        "contact": sees_contact(request.user),
        "page": page,
        "rows": [(order, in_few_words(list(order.wishes.all()))) for order in page.object_list],
    }
    return render(request, "orders/customer.html", context)


@form_page
@needs(May.ORDER)
def new(request: ShopRequest) -> HttpResponse:
    """Write a customer down."""
    form = CustomerForm(posted(request))
    if form.is_valid():
        made = customer_actions.make_customer(request.user, form.facts())
        messages.success(request, _("The customer is written down."))
        return redirect("orders:customer", made.pk)
    context = {"form": form, "customer": None}
    return render(request, "orders/customer_change.html", context, status=status(request))


@form_page
@needs(May.ORDER)
def change(request: ShopRequest, key: int) -> HttpResponse:
    """Change what is known of a customer."""
    customer = get_object_or_404(Customer, pk=key)
    facts = {name: getattr(customer, name) for name in PERSONAL}
    form = CustomerForm(posted(request), initial={**facts, "seen": state_of(customer)})
    if form.is_valid():
        seen = form.cleaned_data["seen"]
        try:
            customer_actions.change_customer(customer, request.user, form.facts(), seen=seen)
        except NotSo as error:
            form.add_error(None, str(error))
            form.data = {**request.POST.dict(), "seen": state_of(customer)}
        else:
            messages.success(request, _("The customer is changed."))
            return redirect("orders:customer", key)
    context = {"form": form, "customer": customer}
    return render(request, "orders/customer_change.html", context, status=status(request))


@require_safe
@needs(May.ORDER)
def data(_request: ShopRequest, key: int) -> HttpResponse:
    """Send everything that the shop keeps of a customer."""
    customer = get_object_or_404(Customer, pk=key)
    headers = {
        "Content-Disposition": f'attachment; filename="customer-{key}.json"',
        "Cache-Control": "no-store",
    }
    shape = {"ensure_ascii": False, "indent": 1}
    return JsonResponse(data_of(customer), headers=headers, json_dumps_params=shape)


@form_page
@needs(May.ORDER)
def erase(request: ShopRequest, key: int) -> HttpResponse:
    """Say what erasing a customer's data does, and do it once that is agreed to."""
    customer = get_object_or_404(Customer, pk=key)
    form = EraseForm(posted(request))
    if form.is_valid():
        notes = form.cleaned_data["notes"]
        try:
            customer_actions.erase_customer(customer, request.user, notes=notes)
        except NotSo as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("The customer's data are erased."))
            return redirect("orders:customer", key)
    context = {"form": form, "customer": customer, "orders": customer.orders.count()}
    return render(request, "orders/customer_erase.html", context, status=status(request))
