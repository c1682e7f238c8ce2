"""A customer's link: made and withdrawn by the shop; looked at and said yes on by the customer.

The token is asked for (`?key=`) and is no part of the path: paths of refused requests are written
into the log.
"""

from typing import Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from combwright.shop.designs.queries import workshop
from combwright.shop.orders import queries, sharing
from combwright.shop.orders.actions import NotSo
from combwright.shop.orders.drawn import Drawer, Shown
from combwright.shop.orders.models import Share, Wish
from combwright.shop.orders.page_forms import ShareForm, YesForm
from combwright.shop.orders.states import State
from combwright.shop.orders.views import form_page, order_or_404, posted, status
from combwright.shop.orders.wish_live import HoleLine, heard_holes
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May

KEY: Final = "key"


@never_cache
@form_page
@needs(May.ORDER)
def share(request: ShopRequest, number: str) -> HttpResponse:
    """List the links of an order; a POST makes one and shows it, this once."""
    order = order_or_404(number)
    form, link, answered = ShareForm(posted(request)), "", status(request)
    if form.is_valid():
        try:
            token = sharing.make_share(order, request.user, form.cleaned_data["days"])
        except NotSo as error:
            form.add_error(None, str(error))
        else:
            link, answered = request.build_absolute_uri(_address(token)), 200
            form = ShareForm()
    context = {"order": order, "form": form, "link": link, "shares": queries.shares_of(order)}
    return render(request, "orders/share.html", context, status=answered)


def _address(token: str) -> str:
    return f"{reverse('orders:shared')}?{KEY}={token}"


@require_POST
@needs(May.ORDER)
def withdraw(request: ShopRequest, key: int) -> HttpResponse:
    """Let a link show nothing any more."""
    found = get_object_or_404(Share.objects.select_related("order"), pk=key)
    sharing.withdraw_share(found, request.user)
    messages.success(request, _("The link is withdrawn; it shows nothing any more."))
    return redirect("orders:share", found.order.number)


@never_cache
@form_page
def shared(request: HttpRequest) -> HttpResponse:
    """Show a customer what is made for them; a POST writes their yes down."""
    token = request.GET.get(KEY, "")[:200]
    try:
        found = sharing.opened(token)
        form = YesForm(posted(request), initial={"seen": queries.shown_mark(found.order)})
        answered = status(request)
        if form.is_valid():
            said = form.cleaned_data
            try:
                sharing.say_yes(token, seen=said["seen"], name=said["name"], words=said["words"])
            except sharing.LinkIsOver:
                raise
            except NotSo as error:
                form.add_error(None, str(error))
                form.data = {"name": said["name"], "words": said["words"],
                             "seen": queries.shown_mark(found.order)}  # fmt: skip
            else:
                return _apart(redirect(_address(token)))
    except sharing.LinkIsOver as error:
        gone = 404 if isinstance(error, sharing.NoSuchLink) else 410
        page = render(request, "orders/shared_over.html", {"why": str(error)}, status=gone)
        return _apart(page)
    context = {"form": form, **_shown(found)}
    return _apart(render(request, "orders/shared.html", context, status=answered))


def _shown(found: Share) -> dict[str, object]:
    order = found.order
    wishes = list(order.wishes.all())
    drawer = Drawer(wishes)
    changed = queries.changed_since_yes(found, order)
    return {
        "share": found,
        "order": order,
        "currency": workshop().currency,
        "cards": [_card(drawer, wish) for wish in wishes],
        "changed": changed,
        "agreed": found.yes_at is not None and not changed,
        "over": order.state in (State.CANCELLED, State.SENT),
    }


def _card(drawer: Drawer, wish: Wish) -> tuple[Shown, tuple[HoleLine, ...]]:
    shown = drawer.shown(wish, small=False)
    return shown, heard_holes(drawer.read(wish)) if shown.layout else ()


def _apart(page: HttpResponse) -> HttpResponse:
    """Keep a link out of search machines, and its token out of what browsers tell of it."""
    page.headers["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    # Not `no-referrer`: with that, browsers send forms without saying where they come from.
    page.headers["Referrer-Policy"] = "strict-origin"
    return page
