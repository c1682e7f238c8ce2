"""The store's pages: sets, donors and parts, received, counted, scrapped, changed."""

from collections.abc import Callable
from typing import Any, Final

from django import forms as django_forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from combwright.errors import CombwrightError
from combwright.shop.designs.queries import NoSuchDesign
from combwright.shop.look.stretches import stretch
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack import change_actions, changes, item_actions, item_queries, opening
from combwright.shop.rack.change_forms import ItemChangeForm
from combwright.shop.rack.forms import HoldForm
from combwright.shop.rack.item_forms import (
    NEW_FORMS,
    FoundForm,
    GoneForm,
    ItemSearchForm,
    ManyForm,
)
from combwright.shop.rack.models import Item

PAGE: Final = 50
form_page = require_http_methods(["GET", "HEAD", "POST"])


def item_called(code: str) -> Item:
    """Return an item with its batch, or answer that there is no such page."""
    return get_object_or_404(Item.objects.select_related("batch"), code=code)


def posted(request: HttpRequest) -> Any:
    """Return what was sent, or None where the page is only looked at."""
    return request.POST if request.method == "POST" else None


def status_of(request: HttpRequest) -> int:
    """Return the status of a page that is shown once more: what was sent could not be done."""
    return 422 if request.method == "POST" else 200


@require_safe
@needs(May.LOOK)
def items(request: ShopRequest) -> HttpResponse:
    """List what is kept whole."""
    form = ItemSearchForm(request.GET)
    page = Paginator(item_queries.items_found(form.search()), PAGE).get_page(
        request.GET.get("page")
    )
    context = {
        "form": form,
        "page": page,
        "totals": item_queries.store_totals(),
        "searched": any(request.GET.get(name) for name in form.fields),
    }
    return render(request, "rack/items.html", context)


@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, code: str) -> HttpResponse:
    """Show an item, its ledger, and what was changed of it."""
    item = item_called(code)
    context = {
        "item": item,
        "page": stretch(item_queries.lines_of(item), request.GET, PAGE),
        "plates": _plates_in(item),
        **changes.shown(item, all_of_them=request.GET.get("changes") == "all"),
    }
    return render(request, "rack/item.html", context)


def _plates_in(item: Item) -> int | None:
    """Return how many plates an item is opened into; None where that cannot be said."""
    try:
        return None if item.kind == Item.PART else len(opening.seats_of(item))
    except NoSuchDesign:
        return None


@form_page
@needs(May.ARRANGE)
def new(request: ShopRequest) -> HttpResponse:
    """Make an item: a set, a donor or a part, as `?kind=` says."""
    kind = request.GET.get("kind", Item.SET)
    if kind not in NEW_FORMS:
        kind = Item.SET
    form = NEW_FORMS[kind](posted(request))
    if form.is_valid():
        try:
            item = item_actions.make_item(
                request.user, form.new_item(), came=form.cleaned_data["came"] or 0
            )
        except CombwrightError as error:
            form.add_error("code", str(error))
        else:
            messages.success(request, _("%(name)s is in the store.") % {"name": item.code})
            return redirect("rack:item", item.code)
    context = {"form": form, "kind": kind, "kinds": Item.KINDS}
    return render(request, "rack/item_new.html", context, status=status_of(request))


def _change(
    request: ShopRequest,
    code: str,
    title: str,
    form_of: Callable[[Item], django_forms.Form],
    act: Callable[[Item, dict[str, Any]], object],
    *,
    danger: bool = False,
) -> HttpResponse:
    """Show a form about an item; when it is filled in rightly, act and return to the item."""
    item = item_called(code)
    form = form_of(item)
    if form.is_valid():
        try:
            act(item, form.cleaned_data)
        except CombwrightError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("Done: %(what)s.") % {"what": title})
            return redirect("rack:item", code)
    context = {"item": item, "form": form, "title": title, "danger": danger}
    return render(request, "rack/item_change.html", context, status=status_of(request))


@form_page
@needs(May.RECEIVE)
def receive(request: ShopRequest, code: str) -> HttpResponse:
    """Take some of an item into the store."""
    return _change(
        request, code, _("Receive"), lambda _item: ManyForm(posted(request)),
        lambda item, said: item_actions.receive_items(
            request.user, item, said["many"], note=said["note"]
        ),
    )  # fmt: skip


@form_page
@needs(May.COUNT)
def count(request: ShopRequest, code: str) -> HttpResponse:
    """Write down how many of an item there are."""
    return _change(
        request, code, _("Count"), lambda _item: FoundForm(posted(request)),
        lambda item, said: item_actions.count_items(
            request.user, item, said["found"], note=said["note"]
        ),
    )  # fmt: skip


@form_page
@needs(May.TAKE)
def scrap(request: ShopRequest, code: str) -> HttpResponse:
    """Take some of an item out for good."""
    return _change(
        request, code, _("Scrap"), lambda _item: GoneForm(posted(request)),
        lambda item, said: item_actions.scrap_items(
            request.user, item, said["many"], note=said["note"]
        ),
        danger=True,
    )  # fmt: skip


@form_page
@needs(May.ARRANGE)
def change(request: ShopRequest, code: str) -> HttpResponse:
    """Change an item's own facts."""
    item = item_called(code)
    form = ItemChangeForm(posted(request), holder=item)
    return _change(
        request, code, _("Change the facts"), lambda _item: form,
        lambda item, said: change_actions.change_item(
            request.user, item, form.facts(), note=said["why"]
        ),
    )  # fmt: skip


@form_page
@needs(May.HOLD)
def hold(request: ShopRequest, code: str) -> HttpResponse:
    """Hold an item, with a reason, or release it."""
    if request.method == "POST" and "release" in request.POST:
        change_actions.release(request.user, item_called(code))
        messages.success(request, _("%(name)s is released.") % {"name": code})
        return redirect("rack:item", code)
    return _change(
        request, code, _("Hold"), lambda _item: HoldForm(posted(request)),
        lambda item, said: change_actions.hold_item(request.user, item, said["because"]),
    )  # fmt: skip
