"""Repertoires found, looked at, begun, changed and thrown away."""

from collections.abc import Callable
from functools import wraps
from typing import Final
from urllib.parse import urlencode

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.shop.orders.models import Customer
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.people.views import posted, status
from combwright.shop.repertoire import actions, queries
from combwright.shop.repertoire.forms import (
    FindForm,
    FindTuneForm,
    RepertoireForm,
    TuneForm,
    said,
)
from combwright.shop.repertoire.models import Melody, Repertoire
from combwright.shop.repertoire.rows import span
from combwright.shop.repertoire.tab_forms import NAMES

PAGE: Final = 50
_MOST_DIGITS: Final = 18
View = Callable[[ShopRequest, int], HttpResponse]
form_page: Final = require_http_methods(["GET", "HEAD", "POST"])


def told(view: View) -> View:
    """Tell what cannot be done any more, and lead back to the list."""

    @wraps(view)
    def answer(request: ShopRequest, key: int) -> HttpResponse:
        try:
            return view(request, key)
        except actions.NotSo as error:
            messages.warning(request, str(error))
            return redirect("repertoire:list")

    return answer


def keys(texts: list[str]) -> list[int]:
    """Return what was sent as keys; what is none is left aside."""
    fit = (each for each in texts if each.isascii() and each.isdecimal())
    return [int(each) for each in fit if len(each) <= _MOST_DIGITS]


@require_safe
@needs(May.LOOK)
def listed(request: ShopRequest) -> HttpResponse:
    """List repertoires, those that a search finds."""
    form = FindForm(request.GET)
    text = form.cleaned_data["text"] if form.is_valid() else ""
    page = Paginator(queries.repertoires_found(text), PAGE).get_page(request.GET.get("page"))
    tunes = queries.tunes_by_repertoire(page)
    rows = [(each, tunes.get(each.pk, 0)) for each in page]
    context = {
        "form": form, "page": page, "rows": rows, "text": text, "instrument": _instrument(request),
    }  # fmt: skip
    return render(request, "repertoire/list.html", context)


def _instrument(request: HttpRequest) -> str:
    """Return what an address says of an instrument, to be handed on from page to page."""
    return urlencode({name: request.GET[name] for name in NAMES if name in request.GET})


@require_safe
@needs(May.LOOK)
def one(request: ShopRequest, key: int) -> HttpResponse:
    """Show a repertoire with its tunes."""
    there = get_object_or_404(Repertoire.objects.select_related("customer", "made_by"), pk=key)
    form = FindTuneForm(request.GET)
    text = form.cleaned_data["text"] if form.is_valid() else ""
    found = queries.melodies_found(there, text)
    page = Paginator(found, PAGE).get_page(request.GET.get("page"))
    context = {
        "repertoire": there,
        "form": form,
        "text": text,
        "page": page,
        "rows": [(each, span(each.lowest, each.highest)) for each in page],
        "instrument": _instrument(request),
        "waiting": there.intakes.select_related("made_by")[:PAGE],
    }
    return render(request, "repertoire/one.html", context)


@form_page
@needs(May.WISH)
def new(request: ShopRequest) -> HttpResponse:
    """Begin a repertoire."""
    form = RepertoireForm(posted(request), initial=_begun(request))
    if form.is_valid():
        try:
            made = actions.make(request.user, form.facts())
        except actions.NotSo as error:
            form.add_error("name", str(error))
        else:
            messages.success(request, _("The repertoire is begun; now load its tunes."))
            return redirect("repertoire:load", made.pk)
    context = {"form": form, "repertoire": None}
    return render(request, "repertoire/change.html", context, status=status(request))


def _begun(request: HttpRequest) -> dict[str, str]:
    """Return what a new repertoire begins with: the customer whose page one comes from."""
    asked = keys([request.GET.get("customer", "")])
    who = Customer.objects.filter(pk__in=asked, erased_at=None).first()
    return {} if who is None else {"customer": f"{who.name} #{who.pk}"}


@form_page
@needs(May.WISH)
def change(request: ShopRequest, key: int) -> HttpResponse:
    """Change what is said of a repertoire."""
    there = get_object_or_404(Repertoire.objects.select_related("customer"), pk=key)
    seen = actions.state_of(there)
    form = RepertoireForm(posted(request), initial={**said(there), "seen": seen})
    if form.is_valid():
        try:
            actions.change(there, request.user, form.facts(), seen=form.cleaned_data["seen"])
        except actions.NotSo as error:
            form.add_error(None, str(error))
            form.data = {**request.POST.dict(), "seen": seen}
        else:
            messages.success(request, _("The repertoire is changed."))
            return redirect("repertoire:one", key)
    context = {"form": form, "repertoire": there}
    return render(request, "repertoire/change.html", context, status=status(request))


@form_page
@needs(May.WISH)
@told
def throw_away(request: ShopRequest, key: int) -> HttpResponse:
    """Say what goes with a repertoire, and throw it away once that is agreed to."""
    there = get_object_or_404(Repertoire, pk=key)
    if request.method == "POST":
        actions.throw_away(there, request.user)
        messages.success(request, _("%s is thrown away.") % there.name)
        return redirect("repertoire:list")
    context = {"repertoire": there, "tunes": there.melodies.count()}
    return render(request, "repertoire/throw_away.html", context)


@require_POST
@needs(May.WISH)
@told
def remove(request: ShopRequest, key: int) -> HttpResponse:
    """Take the ticked tunes out of a repertoire."""
    there = get_object_or_404(Repertoire, pk=key)
    gone = actions.remove_tunes(there, request.user, keys(request.POST.getlist("tune")))
    if gone:
        messages.success(
            request, ngettext("%d tune is removed.", "%d tunes are removed.", gone) % gone
        )
    else:
        messages.warning(request, _("No tune was ticked, so none is removed."))
    return redirect("repertoire:one", key)


@form_page
@needs(May.WISH)
def change_tune(request: ShopRequest, key: int) -> HttpResponse:
    """Give a tune another title or place."""
    melody = get_object_or_404(Melody.objects.defer("music").select_related("repertoire"), pk=key)
    now = {"title": melody.title, "place": actions.place_of(melody)}
    form = TuneForm(posted(request), initial=now)
    if form.is_valid():
        said_now = form.cleaned_data
        try:
            actions.change_tune(melody, request.user, said_now["title"], said_now["place"])
        except actions.NotSo as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, _("The tune is changed."))
            return redirect("repertoire:one", melody.repertoire_id)
    context = {"form": form, "melody": melody, "repertoire": melody.repertoire}
    return render(request, "repertoire/tune_change.html", context, status=status(request))
