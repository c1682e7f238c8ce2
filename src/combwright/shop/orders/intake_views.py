"""The pages on which a file of orders is looked at, then taken in."""

from typing import Any, Final

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from combwright.files.results import BadFile
from combwright.shop.orders import intake_actions
from combwright.shop.orders.actions import NotSo
from combwright.shop.orders.intake import read_contents
from combwright.shop.orders.intake_forms import OPEN, AsForm, FileForm
from combwright.shop.orders.models import OrdersFile
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.people.views import posted, status
from combwright.shop.rack.imports import file_name

PAGE: Final = 50
form_page: Final = require_http_methods(["GET", "HEAD", "POST"])


@form_page
@needs(May.ORDER)
def intake(request: ShopRequest) -> HttpResponse:
    """Take a file to look at; one with problems is not kept, and all of them are shown."""
    form = FileForm(posted(request), request.FILES or None)
    problems: list[str] = []
    if form.is_valid():
        given, decimal = form.cleaned_data["file"], form.cleaned_data["decimal"]
        name, data = file_name(given.name or ""), given.read()
        try:
            read_contents(data, name, decimal or None)
        except BadFile as error:
            problems = str(error).splitlines()
        else:
            kept = intake_actions.keep(request.user, name, data, decimal)
            return redirect("orders:intake-one", kept.pk)
    context = {"form": form, "problems": problems}
    return render(request, "orders/intake.html", context, status=status(request))


@form_page
@needs(May.ORDER)
def one(request: ShopRequest, key: int) -> HttpResponse:
    """Show what a file holds; a POST takes it in."""
    form = AsForm(posted(request))
    refused = ""
    if form.is_valid():
        opened = form.cleaned_data["state"] == OPEN
        try:
            return _taken_in(request, key, opened=opened)
        except BadFile:
            pass  # what is wrong is shown with the preview
        except intake_actions.Gone as error:
            messages.warning(request, str(error))
            return redirect("orders:intake")
        except NotSo as error:
            refused = str(error)
    file = OrdersFile.objects.select_related("made_by").filter(pk=key).first()
    if file is None:
        messages.warning(request, str(intake_actions.Gone()))
        return redirect("orders:intake")
    context = {"file": file, "form": form, "refused": refused, **_preview(request, file)}
    return render(request, "orders/intake_one.html", context, status=status(request))


def _taken_in(request: ShopRequest, key: int, *, opened: bool) -> HttpResponse:
    made = intake_actions.take_in(request.user, key, opened=opened)
    words = ngettext("%d order is taken in.", "%d orders are taken in.", made)
    messages.success(request, words % made)
    return redirect("orders:list")


def _preview(request: ShopRequest, file: OrdersFile) -> dict[str, Any]:
    try:
        contents = intake_actions.contents_of(file)
    except BadFile as error:
        return {"problems": str(error).splitlines()}
    page = Paginator(contents.orders, PAGE).get_page(request.GET.get("page"))
    copies = sum(wish["quantity"] for each in contents.orders for wish in each.wishes)
    return {"page": page, "warnings": contents.warnings, "copies": copies}
