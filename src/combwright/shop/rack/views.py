"""The rack's pages: read the request, call one action, show the answer."""

from collections.abc import Callable, Iterable
from typing import Any, Final

from django import forms as django_forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from combwright.shop.designs.queries import usual_comb
from combwright.shop.look.stretches import stretch
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May, allowed
from combwright.shop.rack import actions, changes, queries, sets
from combwright.shop.rack.forms import (
    BinForm,
    CountForm,
    HoldForm,
    LossForm,
    MoveForm,
    PlatesForm,
    SearchForm,
    SliceFormSet,
    WhichSetForm,
    WhyForm,
)
from combwright.shop.rack.models import Batch, Bin, ItemLine

PAGE: Final = 50
form_page = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@needs(May.LOOK)
def heat(request: ShopRequest) -> HttpResponse:
    """Show the rack by note and hole."""
    comb = usual_comb()
    context = {
        "rows": queries.heat_map(comb),
        "holes": range(1, comb.holes + 1),
        "comb": comb,
        "totals": queries.totals(),
    }
    return render(request, "rack/heat.html", context)


@require_safe
@needs(May.LOOK)
def bins(request: ShopRequest) -> HttpResponse:
    """List bins along the walk, those that a search finds."""
    form = SearchForm(request.GET)
    found = queries.bins_found(form.search())
    page = Paginator(found, PAGE).get_page(request.GET.get("page"))
    return render(request, "rack/bins.html", {"form": form, "page": page})


@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, code: str) -> HttpResponse:
    """Show a bin: what it holds, where its plates fit, and its ledger."""
    plate_bin, comb = _bin(code), usual_comb()
    lines = stretch(queries.lines_of(plate_bin), request.GET, PAGE)
    context = {
        "bin": plate_bin,
        "page": lines,
        "holes": queries.holes_fitted(plate_bin, comb),
        "all_holes": range(1, comb.holes + 1),
        **changes.shown(plate_bin, all_of_them=request.GET.get("changes") == "all"),
    }
    return render(request, "rack/bin.html", context)


def _bin(code: str) -> Bin:
    return get_object_or_404(Bin.objects.select_related("batch"), code=code)


def _change(
    request: ShopRequest,
    code: str,
    title: str,
    form_of: Callable[[Bin], django_forms.Form],
    act: Callable[[Bin, dict[str, Any]], object],
    *,
    danger: bool = False,
) -> HttpResponse:
    """Show a form about a bin; when it is filled in rightly, act and return to the bin."""
    plate_bin = _bin(code)
    form = form_of(plate_bin)
    if form.is_valid():
        try:
            act(plate_bin, form.cleaned_data)
        except actions.NotSo as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("Done: %(what)s.") % {"what": title})
            return redirect("rack:bin", code)
    context = {"bin": plate_bin, "form": form, "title": title, "danger": danger}
    return render(request, "rack/change.html", context, status=_status(request))


def _posted(request: HttpRequest) -> Any:
    return request.POST if request.method == "POST" else None


@form_page
@needs(May.RECEIVE)
def receive(request: ShopRequest, code: str) -> HttpResponse:
    """Take plates into a bin."""
    return _change(
        request, code, _("Receive plates"), lambda _bin: PlatesForm(_posted(request)),
        lambda b, said: actions.receive(request.user, b, said["plates"], note=said["note"]),
    )  # fmt: skip


@form_page
@needs(May.COUNT)
def count(request: ShopRequest, code: str) -> HttpResponse:
    """Write down how many plates a bin holds."""
    return _change(
        request, code, _("Count the bin"), lambda _bin: CountForm(_posted(request)),
        lambda b, said: actions.count(request.user, b, said["found"], note=said["note"]),
    )  # fmt: skip


@form_page
@needs(May.TAKE)
def scrap(request: ShopRequest, code: str) -> HttpResponse:
    """Take broken plates out for good."""
    return _change(
        request, code, _("Scrap plates"), lambda _bin: LossForm(_posted(request)),
        lambda b, said: actions.scrap(request.user, b, said["plates"], note=said["note"]),
        danger=True,
    )  # fmt: skip


@form_page
@needs(May.TAKE)
def put_back(request: ShopRequest, code: str) -> HttpResponse:
    """Put plates back into a bin."""
    return _change(
        request, code, _("Put plates back"), lambda _bin: LossForm(_posted(request)),
        lambda b, said: actions.put_back(request.user, b, said["plates"], note=said["note"]),
    )  # fmt: skip


@form_page
@needs(May.TAKE)
def move(request: ShopRequest, code: str) -> HttpResponse:
    """Move plates into another bin."""
    return _change(
        request, code, _("Move plates"), lambda b: MoveForm(_posted(request), source=b),
        lambda b, said: actions.move(
            request.user, b, said["target"], said["plates"], note=said["note"]
        ),
    )  # fmt: skip


@form_page
@needs(May.ARRANGE)
def new_bin(request: ShopRequest) -> HttpResponse:
    """Make a bin."""
    form = BinForm(_posted(request))
    if form.is_valid():
        try:
            made = actions.make_bin(form.new_bin(), form.cleaned_data["batch"])
        except actions.NotSo as error:
            form.add_error("code", str(error))
        else:
            messages.success(request, _("Bin %(bin)s is made.") % {"bin": made.code})
            return redirect("rack:bin", made.code)
    context = {"form": form, "title": _("Make a bin")}
    return render(request, "rack/change.html", context, status=_status(request))


def _status(request: HttpRequest) -> int:
    return 422 if request.method == "POST" else 200


@form_page
@needs(May.RECEIVE)
def receive_set(request: ShopRequest) -> HttpResponse:
    """Receive factory sets: first which, then the twenty bins that their plates go to."""
    which = WhichSetForm(request.POST if request.method == "POST" else request.GET or None)
    if not which.is_valid():
        return render(request, "rack/which_set.html", {"form": which}, status=_status(request))
    proposed = sets.proposal(which.cleaned_data)
    slices = SliceFormSet(_posted(request), initial=proposed)
    if request.method == "POST" and slices.is_valid():
        try:
            entry = actions.slice_set(
                request.user, which.cleaned_data["batch"],
                [form.slice(which.cleaned_data["sets"]) for form in slices],
                note=sets.note_of(which.cleaned_data, _lost(slices)),
            )  # fmt: skip
        except actions.NotSo as error:
            which.add_error(None, str(error))
        else:
            messages.success(request, _("The set's plates are in their bins."))
            return redirect("rack:entry", entry.pk)
    context = {"which": which, "slices": slices, "rows": zip(slices, proposed, strict=True)}
    return render(request, "rack/set.html", context, status=_status(request))


def _lost(slices: Iterable[django_forms.Form]) -> dict[str, int]:
    return {form.cleaned_data["cut"]: form.cleaned_data["lost"] for form in slices}


@require_safe
@needs(May.LOOK)
def batches(request: ShopRequest) -> HttpResponse:
    """List the batches."""
    page = Paginator(queries.batches(), PAGE).get_page(request.GET.get("page"))
    return render(request, "rack/batches.html", {"page": page})


@form_page
@needs(May.LOOK)
def batch(request: ShopRequest, code: str) -> HttpResponse:
    """Show a batch; a POST holds or releases it."""
    found = get_object_or_404(queries.batches(), code=code)
    form = HoldForm(_posted(request) if "because" in request.POST else None)
    if request.method == "POST" and _held_or_released(request, found, form):
        return redirect("rack:batch", code)
    page = Paginator(found.bins.select_related("batch"), PAGE).get_page(request.GET.get("page"))
    context = {"batch": found, "form": form, "page": page}
    return render(request, "rack/batch.html", context, status=_status(request))


def _held_or_released(request: ShopRequest, found: Batch, form: HoldForm) -> bool:
    if not allowed(request.user.role, May.HOLD):
        raise PermissionDenied(_("Only the owner and makers hold and release batches."))
    if "release" in request.POST:
        actions.release(found)
        messages.success(request, _("Batch %(batch)s is released.") % {"batch": found.code})
        return True
    if not form.is_valid():
        return False
    actions.hold(found, form.cleaned_data["because"])
    messages.success(request, _("Batch %(batch)s is held.") % {"batch": found.code})
    return True


@require_safe
@needs(May.LOOK)
def ledger(request: ShopRequest) -> HttpResponse:
    """Show everything that was done, newest first."""
    page = stretch(queries.entries().prefetch_related(_with_items()), request.GET, PAGE)
    return render(request, "rack/ledger.html", {"page": page})


def _with_items() -> "Prefetch[Any]":
    return Prefetch("item_lines", ItemLine.objects.select_related("item").order_by("item__code"))


@form_page
@needs(May.LOOK)
def entry(request: ShopRequest, number: int) -> HttpResponse:
    """Show one entry with its lines; a POST takes it back."""
    found = get_object_or_404(queries.entries().prefetch_related(_with_items()), pk=number)
    form = WhyForm(_posted(request))
    if request.method == "POST" and not allowed(request.user.role, May.CORRECT):
        raise PermissionDenied(_("Only the owner and the office correct the ledger."))
    if form.is_valid():
        try:
            undone = actions.take_back(request.user, found, note=form.cleaned_data["note"])
        except actions.NotSo as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("Entry %(n)d is taken back.") % {"n": found.pk})
            return redirect("rack:entry", undone.pk)
    lines = Paginator(queries.lines_along_the_walk(found), PAGE)
    context = {"entry": found, "form": form, "page": lines.get_page(request.GET.get("page"))}
    return render(request, "rack/entry.html", context, status=_status(request))
