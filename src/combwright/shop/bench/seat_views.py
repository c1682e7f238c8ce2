"""Seat by seat: a plate goes in, comes out again, breaks, or goes back to the rack."""

from collections.abc import Callable
from typing import Any

from django.forms import Form
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from combwright.errors import CombwrightError
from combwright.sheets.bench_words import CAUTIONS
from combwright.shop.bench import building, seats, trays
from combwright.shop.bench.asked import asked_taken, told
from combwright.shop.bench.build_views import seat_key, seat_page
from combwright.shop.bench.forms import FiledForm, WhyForm
from combwright.shop.bench.list_views import order_of
from combwright.shop.bench.walk_views import instead_address
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import State
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.plans.models import Taken
from combwright.shop.register.models import Fitted, Instrument

form_page = require_http_methods(["GET", "HEAD", "POST"])


@require_safe
@needs(May.LOOK)
def seat(request: ShopRequest, key: int, row: int, copy: int) -> HttpResponse:
    """Show an instrument on the bench, and the seat to do next."""
    order, reader = order_of(key), Reader()
    there = seats.of_copy(trays.places([order], reader), row, copy)
    if not there:
        raise Http404(_("Order %s has no such instrument.") % order.number)
    here = seats.next_of(there, request.GET.get("seat", ""))
    address = reverse("bench:seat", args=[key, row, copy])
    design = reader.design(there[0].wish)
    context = {
        "order": order,
        "title": design.title,
        "tray": there[0].tray,
        "serial": _serial(there[0], copy),
        "drawing": seats.drawing(there, design.comb, here, address),
        "seat": seats.told(here) if here else None,
        "seats": [(seats.told(each), seats.state_words(each)) for each in there],
        "done": sum(each.done for each in there),
        "total": len(there),
        "last": _last(there),
        "on_bench": order.state == State.BENCH,
        "cautions": CAUTIONS,
        "here": request.get_full_path() + "#seat",
        "address": address,
    }
    return render(request, "bench/seat.html", context)


def _serial(place: trays.Place, copy: int) -> str:
    found = Instrument.objects.filter(wish=place.wish, copy=copy, taken_apart_at=None)
    return found.values_list("serial", flat=True).first() or ""


def _last(there: list[trays.Place]) -> Fitted | None:
    """Return the plate that was seated last, which is the step to undo."""
    keys = [p.taken.pk for p in there if p.taken is not None and p.state == Taken.FITTED]
    rows = Fitted.objects.filter(taken__in=keys, taken_out_at=None).select_related("taken")
    return rows.order_by("-pk").first()


@require_POST
@needs(May.BUILD)
def fit(request: ShopRequest, key: int) -> HttpResponse:
    """Seat a plate, and go on to the next seat."""
    taken = asked_taken(key)
    try:
        building.fit(request.user, taken)
    except CombwrightError as error:
        return told(request, seat_page(taken, seat=seat_key(taken)), wrong=str(error))
    return told(request, seat_page(taken))


@require_POST
@needs(May.BUILD)
def take_out(request: ShopRequest, key: int) -> HttpResponse:
    """Take a seated plate out again: the step before."""
    taken = asked_taken(key)
    back = seat_page(taken, seat=seat_key(taken))
    try:
        building.take_out(request.user, taken)
    except CombwrightError as error:
        return told(request, back, wrong=str(error))
    return told(request, back, _("Taken out: %s lies in the tray again.") % taken.place)


def _worked(
    request: ShopRequest,
    key: int,
    form_of: Callable[[Any], Form],
    act: Callable[[Taken, dict[str, Any]], str],
    facts: dict[str, Any],
) -> HttpResponse:
    """Ask about a plate that leaves its seat or tray; then go to what may take its place."""
    taken = asked_taken(key)
    form = form_of(request.POST if request.method == "POST" else None)
    back = seat_page(taken, seat=seat_key(taken))
    if form.is_valid():
        try:
            words = act(taken, form.cleaned_data)
        except CombwrightError as error:
            form.add_error(None, str(error))
        else:
            return told(request, instead_address(taken, back), words)
    context = {**facts, "taken": taken, "form": form, "back": back, "cautions": CAUTIONS}
    status = 422 if request.method == "POST" else 200
    return render(request, "bench/worked.html", context, status=status)


@form_page
@needs(May.BUILD)
def broke(request: ShopRequest, key: int) -> HttpResponse:
    """Write off a plate that broke."""

    def act(taken: Taken, said: dict[str, Any]) -> str:
        building.broke(request.user, taken, because=said["because"])
        return _("Written off: the plate of %s.") % taken.place

    facts = {"title": _("It broke"), "submit": _("Write it off"), "danger": True}
    return _worked(request, key, WhyForm, act, facts)


@form_page
@needs(May.BUILD)
def filed(request: ShopRequest, key: int) -> HttpResponse:
    """Put a plate back into the rack, into a bin that tells its true pitch."""

    def act(taken: Taken, said: dict[str, Any]) -> str:
        home = building.put_back_filed(request.user, taken, pitch_mc=said["pitch"])
        return _("Put it into bin %s; its label may have to be printed.") % home.code

    facts = {"title": _("Back into the rack"), "submit": _("Put it back"), "danger": False}
    return _worked(request, key, FiledForm, act, facts)
