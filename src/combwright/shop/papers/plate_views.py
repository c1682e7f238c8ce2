"""Single plates: labelled in their bin, looked at, measured, moved and scrapped."""

from collections.abc import Callable, Sequence
from typing import Any, Final

from django import forms as django_forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from combwright.shop.papers.forms import (
    NewPlatesForm,
    OffsetForm,
    PlateMoveForm,
    PlateScrapForm,
)
from combwright.shop.papers.written import PLATE
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May, allowed
from combwright.shop.rack import plate_actions
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Bin, Plate

PAGE: Final = 50
form_page = require_http_methods(["GET", "HEAD", "POST"])


@form_page
@needs(May.TAKE)
def new_plates(request: ShopRequest, code: str) -> HttpResponse:
    """Show a bin's single plates; a POST labels some more and goes on to print the labels."""
    plate_bin = get_object_or_404(Bin.objects.select_related("batch"), code=code)
    posted = request.method == "POST"
    form = NewPlatesForm(request.POST if posted else None)
    if posted and form.is_valid():
        try:
            made = plate_actions.label_plates(plate_bin, form.cleaned_data["plates"])
        except NotSo as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("The plates have their codes; now print the labels."))
            return redirect(labels_of(made))
    page = Paginator(plate_bin.labelled.all(), PAGE).get_page(request.GET.get("page"))
    context = {"bin": plate_bin, "form": form, "page": page}
    return render(request, "papers/plates_new.html", context, status=422 if posted else 200)


def labels_of(plates: Sequence[Plate]) -> str:
    """Return where the labels of some plates are printed."""
    codes = "\n".join(plate.code for plate in plates)
    return reverse("papers:labels") + "?" + urlencode({"what": PLATE, "codes": codes}) + "#run"


@require_safe
@needs(May.LOOK)
def plate(request: ShopRequest, code: str) -> HttpResponse:
    """Show a plate: what it is, where it lies, and what can be done with it."""
    one = _plate(code)
    may_take = allowed(request.user.role, May.TAKE)
    form = OffsetForm(initial={"cents": one.cents}) if may_take else None
    return _shown(request, one, form)


@form_page
@needs(May.TAKE)
def measure(request: ShopRequest, code: str) -> HttpResponse:
    """Write down a plate's own offset."""
    one = _plate(code)
    if request.method != "POST":
        return redirect("papers:plate", code)
    form = OffsetForm(request.POST)
    if not form.is_valid():
        return _shown(request, one, form, status=422)
    plate_actions.measure(one, form.millicents())
    messages.success(request, _("Plate %(plate)s: the offset is written down.") % {"plate": code})
    return redirect("papers:plate", code)


@form_page
@needs(May.TAKE)
def move(request: ShopRequest, code: str) -> HttpResponse:
    """Move a plate into another bin; one that has left the rack is put back into one."""
    one = _plate(code)
    form = PlateMoveForm(_posted(request), plate=one)
    in_the_rack = one.bin is not None

    def act() -> None:
        said = form.cleaned_data
        do = plate_actions.move if in_the_rack else plate_actions.put_back
        do(request.user, one, said["target"], note=said["note"])

    title = _("Move the plate") if in_the_rack else _("Put the plate back")
    return _changed(request, one, title, form, act)


@form_page
@needs(May.TAKE)
def scrap(request: ShopRequest, code: str) -> HttpResponse:
    """Take a plate out of the rack for good."""
    one = _plate(code)
    form = PlateScrapForm(_posted(request))

    def act() -> None:
        plate_actions.scrap(request.user, one, form.cleaned_data["because"])

    return _changed(request, one, _("Scrap the plate"), form, act, danger=True)


def _plate(code: str) -> Plate:
    return get_object_or_404(Plate.objects.select_related("bin", "batch"), code=code)


def _posted(request: ShopRequest) -> Any:
    return request.POST if request.method == "POST" else None


def _shown(
    request: ShopRequest, one: Plate, form: OffsetForm | None, *, status: int = 200
) -> HttpResponse:
    context = {"plate": one, "form": form, "labels": labels_of([one])}
    return render(request, "papers/plate.html", context, status=status)


def _changed(
    request: ShopRequest,
    one: Plate,
    title: str,
    form: django_forms.Form,
    act: Callable[[], None],
    *,
    danger: bool = False,
) -> HttpResponse:
    if form.is_valid():
        try:
            act()
        except NotSo as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("Done: %(what)s.") % {"what": title})
            return redirect("papers:plate", one.code)
    context = {"plate": one, "form": form, "title": title, "danger": danger}
    status = 422 if request.method == "POST" else 200
    return render(request, "papers/plate_change.html", context, status=status)
