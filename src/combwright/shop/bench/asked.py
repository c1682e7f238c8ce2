"""What a request asks the bench for: which orders, which plate, and where to go back to."""

from collections.abc import Iterable
from typing import Final
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from combwright.shop.orders.models import Order
from combwright.shop.people.door import ShopRequest
from combwright.shop.plans.models import Taken

#: More orders than this are not walked for at once; nobody carries so many trays.
MOST_ORDERS: Final = 30
_MOST_DIGITS: Final = 18


def keys_in(text: str) -> list[int]:
    """Read the keys of orders out of an address: `12,15`; what is no key is left out."""
    parts = (part.strip() for part in text.split(","))
    fits = (p for p in parts if p.isascii() and p.isdecimal() and len(p) <= _MOST_DIGITS)
    return list(dict.fromkeys(int(part) for part in fits))[:MOST_ORDERS]


def asked_orders(request: ShopRequest) -> list[Order]:
    """Return the orders that an address or a form names, those of one walk.

    Raises
    ------
    Http404
        If there is none of them.
    """
    said = request.POST.get("orders") or request.GET.get("orders", "")
    found = Order.objects.filter(pk__in=keys_in(said)).select_related("customer").order_by("pk")
    orders = list(found)
    if not orders:
        raise Http404(_("No order is named here; choose some on the bench's page."))
    return orders


def in_address(orders: Iterable[Order]) -> str:
    """Write the keys of orders as an address names them."""
    return ",".join(str(each.pk) for each in orders)


def walk_address(orders: Iterable[Order], **more: str) -> str:
    """Return the address of the walk for some orders."""
    asked = {"orders": in_address(orders), **more}
    return f"{reverse('bench:walk')}?{urlencode(asked, safe=',')}"


def asked_taken(key: int) -> Taken:
    """Return a taken plate with all that is shown of it.

    Raises
    ------
    Http404
        If there is none.
    """
    rows = Taken.objects.select_related("order", "wish__order", "bin__batch", "batch", "plate")
    return get_object_or_404(rows, pk=key)


def back_of(request: ShopRequest, otherwise: str) -> str:
    """Return the page that a form was sent from, if it says one of ours."""
    wanted = request.POST.get("back") or request.GET.get("back", "")
    ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if ours else otherwise


def by_script(request: ShopRequest) -> bool:
    """Say whether a page's script asks, which wants an answer and not a page."""
    return request.headers.get("Accept", "").startswith("application/json")


def told(request: ShopRequest, back: str, words: str = "", *, wrong: str = "") -> HttpResponse:
    """Answer what was done or why not: to a script in JSON, to a person on the page before."""
    if by_script(request):
        return JsonResponse({"words": wrong or words}, status=409 if wrong else 200)
    if wrong:
        messages.error(request, wrong)
    elif words:
        messages.success(request, words)
    return redirect(back)
